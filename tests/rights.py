"""A child without the rights that make root stronger than permission bits."""

# Linux capabilities(7): without these, permission bits hold for root as well
_OVERRIDES = (1, 2)  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH
_PR_CAPBSET_DROP = 24


def drop_rights() -> None:
    """Run in the child before it becomes inkmix; refused, and not needed, where it is not root."""
    import ctypes

    for capability in _OVERRIDES:
        ctypes.CDLL(None).prctl(_PR_CAPBSET_DROP, capability, 0, 0, 0)
