"""Music that comes again: as it was, moved, shortened or with other notes between."""
