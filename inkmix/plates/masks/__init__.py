"""Areas of a sheet: by a picture, a rectangle, or what the plates hold."""
