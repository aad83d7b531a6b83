"""Plate files: reading them, finding them, and checking that a set belongs together.

Every file of a spread is opened here. Above this package a plate is ink amount, 0 = none.
"""
