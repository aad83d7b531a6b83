"""The list of inks and papers at hand: as values, as text, as JSON, as a page."""
