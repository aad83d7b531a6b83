"""Mixes as text for a terminal, and as values and JSON for scripts."""
