"""House rules: what a teacher allows and prefers, and the files they are kept in."""
