"""What is told of inks and papers, as values."""
