"""Ways of playing a passage beside each other: weighed, from slow to fast, and as strips of music."""
