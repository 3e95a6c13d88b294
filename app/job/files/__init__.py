"""The files that are opened: scores and projects, the example, those opened last."""
