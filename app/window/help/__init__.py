"""The manual and the page of keys in a window."""
