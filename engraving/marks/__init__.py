"""Marks for the player: as values, and patched into the teacher's own file."""
