"""Total ink against the ink limit."""
