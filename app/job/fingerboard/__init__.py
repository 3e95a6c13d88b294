"""Where notes are stopped on the fingerboard: note by note, along a passage, and as a chart."""
