"""What is done beside the window's own thread, or in a quiet moment."""
