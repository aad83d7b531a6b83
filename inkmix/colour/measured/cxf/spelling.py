"""Names of CxF3 that reader and writer share (core schema of ISO 17972-1, from memory)."""

CORE = "http://colorexchangeformat.com/CxF3-core"
HEADER = {"ORIGINATOR": "Creator", "CREATED": "CreationDate", "DESCRIPTOR": "Description"}
"""What a document says of itself, by the keywords of ISO 28178."""
KEYWORD_TAG = r"[A-Z][A-Z_0-9]{2,60}"
"""Tags of a document that are keywords of ISO 28178, or written like them."""
ILLUMINATIONS = {
    "M0": "M0_Incandescent",
    "M1": "M1_Daylight",
    "M2": "M2_UVExcluded",
    "M3": "M3_Polarized",
}
FILTERS = {"red": "Red", "green": "Green", "blue": "Blue", "visual": "Visual"}
