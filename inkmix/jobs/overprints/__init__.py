"""What is on an overprint sheet, as values."""
