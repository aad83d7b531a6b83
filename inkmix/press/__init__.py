"""What the press does to ink: inks on paper, tone curves, overprints, halftone, expected error."""
