"""Limits of what is read as a plate or picture, each with its reason. Numbers only."""

MAX_SIDE_PX = 250_000
"""Longest side: 5 m at 1200 ppi. Longer ones are damaged headers."""

MAX_PLATE_PX = 2**31
"""Pixels of one plate: more would need minutes a plate; an A0 line plate at 1200 ppi has 2.2e9."""

MAX_HELD_PX = 2**29
"""Pixels of a PNG, and of a strip or tile that can only be unpacked whole: half a gigabyte of
scratch space, or of memory, at 8 bits."""

MAX_CHANNELS = 32
"""Channels in one file; a press has eight units, files with more come from other trades."""

MAX_SEGMENT_PX = 2**22
"""Larger strips or tiles are unpacked once to scratch space, not again for each window."""

MAX_WINDOW_PX = 2**20
"""Pixels of one window of a set."""

MAX_IN_MEMORY_BYTES = 2**22
"""Scratch room above this size lies in a file instead of in memory: five plates need 20 MB."""

UNKNOWN_PPI = 72.0
"""Programs write 72 ppi when they do not know the resolution."""
