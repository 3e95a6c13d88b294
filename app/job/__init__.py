"""The teacher's work on one score, free of windows: what is decided, kept, weighed, printed and heard."""
