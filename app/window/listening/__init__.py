"""Hearing the music: the bar under it, and what plays."""
