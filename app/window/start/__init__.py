"""How the program begins: what stands there first, the files opened last, what is dropped."""
