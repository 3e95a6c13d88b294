"""What lies open, and every edit of it: the desk, its engraved pages, its undo steps, and who edits what."""
