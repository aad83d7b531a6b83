"""Behind the reading of book.toml: its text, keys, paths, rules, and words for faults."""
