"""Corrected copies of plate files: other pixels, everything else as it was. Start: copies.py."""
