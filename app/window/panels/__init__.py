"""What stands beside the music: parts, ways to play, watch-list, marks, fingerboard."""
