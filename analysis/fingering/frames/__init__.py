"""Hand frames: which finger stops what from where the hand lies, one module for each family of instruments."""
