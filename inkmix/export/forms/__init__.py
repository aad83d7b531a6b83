"""Plates and picture of a test form: rectangles and words in, grey plates and pixels out."""
