"""What an earlier book knows of the inks, taken over into a new file of a book."""
