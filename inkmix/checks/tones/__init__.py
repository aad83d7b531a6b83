"""Named tones: what was meant against what will print."""
