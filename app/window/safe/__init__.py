"""Nothing is lost: journals of unsaved work, what a crash left behind, what happens when the program itself errs."""
