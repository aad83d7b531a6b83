"""Remedies tried on the pixels."""
