"""The command line: the same work as in the window, without one."""
