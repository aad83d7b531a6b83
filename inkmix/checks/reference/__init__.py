"""The predicted print against a reference picture."""
