"""From measurements of a printed form to a known press, as values."""
