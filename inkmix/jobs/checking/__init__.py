"""What one checked spread takes: counting in windows, figures, notes, pictures of places."""
