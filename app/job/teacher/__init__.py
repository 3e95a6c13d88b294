"""What the teacher decides on one score, as values: the work on each part, locks, marks, passages, remarks, paper."""
