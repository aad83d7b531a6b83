"""Compiled loops over pixels. Import one only after `inkmix.base.loops.are_compiled()` said yes."""
