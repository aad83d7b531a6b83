"""Inks and papers that come with the package, and those out of measured charts."""
