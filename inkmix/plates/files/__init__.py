"""Files of one picture: what each format says of itself, and rectangles of its numbers."""
