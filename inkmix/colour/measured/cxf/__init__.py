"""CxF3 (ISO 17972), read into measured tables: spectra of patches, and of spot inks over black."""
