"""inkmix: what spot inks will print where they overlap, and whether the plates can go to press."""

__version__ = "0.1.0"
