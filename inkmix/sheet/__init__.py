"""The printed sheet: pixels, millimetres, panels, trim."""
