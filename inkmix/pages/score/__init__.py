"""How a chart was scored, as text."""
