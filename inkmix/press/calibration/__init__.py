"""From readings of a printed form to what a press is known by.

Values in, values out; files are opened by whoever calls this.
"""
