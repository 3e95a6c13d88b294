"""The editor of house rules."""
