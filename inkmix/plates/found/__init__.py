"""Which file of a folder is which plate of which spread."""
