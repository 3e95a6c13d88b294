"""What the notes ask of the hand and the ear: values, fingering and reading, free of any window or engraver."""
