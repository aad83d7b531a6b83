"""Corrections of plates that keep the picture: tone curves for nights, ink taken off."""
