"""Choosing fingerings: placements, effort, house rules and the exact solver."""
