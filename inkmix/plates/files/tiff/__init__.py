"""TIFF, read by windows."""
