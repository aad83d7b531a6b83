"""What was mended, as a page, as JSON and as lines for a terminal."""
