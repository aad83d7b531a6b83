"""Measured colour in files: bytes in, values out.

No module of this package opens a file; whoever holds the path does.
"""
