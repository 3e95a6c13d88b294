"""What Handframe rests on: its dependencies, and that it asks no network for anything."""
