"""What a teacher marks before the first rehearsal, found in the notes and their fingering."""
