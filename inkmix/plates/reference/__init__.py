"""The reference picture of a whole sheet, as sRGB, by windows."""
