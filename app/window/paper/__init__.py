"""What is seen and said before something is printed."""
