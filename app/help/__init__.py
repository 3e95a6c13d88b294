"""The manual: its prose, the tables that are made from the program's own, and the pictures."""
