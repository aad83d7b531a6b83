"""Choosing inks for a book: what is asked, what is at hand, all that is shown."""
