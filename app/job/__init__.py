"""The teacher's work on one score, free of windows: settings, plans, comparisons, marks, project files."""
