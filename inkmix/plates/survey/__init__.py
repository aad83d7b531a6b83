"""What the pixels of the plates hold, counted, and what that gives away."""
