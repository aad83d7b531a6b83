"""Night areas: whether each is as dark as it must be."""
