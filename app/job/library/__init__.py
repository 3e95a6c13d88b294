"""A folder full of scores: which files are taken, and what is made of them already."""
