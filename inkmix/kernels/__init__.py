"""Compiled loops over pixels. Import one only after `inkmix.loops.are_compiled()` said yes."""
