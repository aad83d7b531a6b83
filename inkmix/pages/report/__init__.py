"""The answer about one spread as a page for people and as JSON for programs."""
