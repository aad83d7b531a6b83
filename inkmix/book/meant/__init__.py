"""From what a book says to what can be computed with: paper, inks, press condition, plates."""
