"""Connected areas of a picture that is seen window by window."""
