"""The checks of a separation; each module is one check."""
