"""Cues: another part's notes, small, in the last measures of a long rest."""
