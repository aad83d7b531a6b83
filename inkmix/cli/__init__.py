"""The command line: one command a file, none loaded before it is asked for."""
