"""The mixes of a press condition that come nearest to a colour, or go darkest."""
