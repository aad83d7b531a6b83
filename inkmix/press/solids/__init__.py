"""Solids as they print, alone and on each other."""
