"""What survives a crash: journals of unsaved work, their lines, and the folder where they lie."""
