"""What a calibration found, as text and as a page; the press file beside it."""
