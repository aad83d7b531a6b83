"""Every spread of a book: checked by workers, unchanged ones reused, compared with the last run."""
