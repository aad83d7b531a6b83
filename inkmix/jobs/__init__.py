"""Where plates, press condition and checks meet: one spread predicted, or checked."""
