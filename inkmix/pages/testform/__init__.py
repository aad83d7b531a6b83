"""A test form in files: its plates, its picture, the list of patches, and testform.json."""
