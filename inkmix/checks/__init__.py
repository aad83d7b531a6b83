"""The checks of a separation: a folder each, listed in table.py, and what they share."""
