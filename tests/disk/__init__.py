"""What becomes of files when the process is killed, the power fails or the disk is full, at every call that writes."""
