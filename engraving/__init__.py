"""The written score: the file, its notes, the marks put into it and the engraved page."""
