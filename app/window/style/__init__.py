"""How the window looks and in which language it speaks."""
