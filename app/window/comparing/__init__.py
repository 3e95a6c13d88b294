"""Ways to play a passage below each other, with the path of the hand and the tempo."""
