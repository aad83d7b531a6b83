"""Choosing inks that are to print together: what each palette can do, and the best compromises."""
