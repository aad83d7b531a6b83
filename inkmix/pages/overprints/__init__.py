"""The overprint sheet of a palette: what is on it, where it lies, how it is drawn and told."""
