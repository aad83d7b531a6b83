"""A first book file from what lies in a folder; everything guessed is marked as guessed."""
