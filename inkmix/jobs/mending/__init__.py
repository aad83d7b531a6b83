"""Corrected copies of the plates of a book: found, tried, written. Start: find.py."""
