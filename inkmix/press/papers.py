"""What is usual of bare papers, by class."""

USUAL_L = {
    "coated": (88, 98), "light-coated": (86, 97), "supercalendered": (83, 95),
    "uncoated": (86, 98), "newsprint": (76, 90),
}  # fmt: skip
"""L* of bare papers, wide enough for ISO 12647-2 and -3 on any backing (from memory)."""
