"""Colour tables kept on disk between runs, found again by all that decides them."""
