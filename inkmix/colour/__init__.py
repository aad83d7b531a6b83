"""Colour as such: colorimetry, the observer, curves, vision, colours as people write them."""
