"""The keys that music is in, as its notes tell."""
