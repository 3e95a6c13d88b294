"""House rules that are edited: drafts, files, words, and what other rules would do."""
