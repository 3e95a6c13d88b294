"""What people call things: parts, measures, positions and house rules, and how a note is played."""
