"""The book file: its text, keys, paths and rules, and the plain values that it says."""
