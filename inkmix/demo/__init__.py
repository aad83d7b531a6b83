"""The Night Ferry: an invented eight-panel strip, drawn by code, to try everything else on.

Paints, shapes and story live here; nothing outside this package knows of them. Ink, town and
ferry are invented.
"""
