"""PNG, read by rows."""
