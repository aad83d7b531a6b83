"""Mixes as text for a terminal."""
