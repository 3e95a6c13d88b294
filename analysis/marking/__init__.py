"""What has to be printed of a fingering, so that a player reads all of it."""
