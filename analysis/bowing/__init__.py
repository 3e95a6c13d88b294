"""Following the bow through a part: the strokes, which way each goes as printed, and what would bring them right."""
