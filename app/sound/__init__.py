"""Sound: recorded string notes, mixed to blocks of frames, sent to a device or written to files; no widgets, no Qt."""
