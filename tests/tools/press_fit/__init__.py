"""Fitting the constants of the press model to published sets; `fit_press.py` runs it."""
