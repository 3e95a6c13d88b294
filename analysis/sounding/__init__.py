"""How the written music sounds: its tones in seconds, as they are played, and clicks on the beats."""
