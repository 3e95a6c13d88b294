"""What stands on paper: digits, parts, the set of copies, pictures of pages, practice sheets."""
