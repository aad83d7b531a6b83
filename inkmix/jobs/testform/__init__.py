"""A test form of a book's inks: which patches, in which order, where on the sheet, as values."""
