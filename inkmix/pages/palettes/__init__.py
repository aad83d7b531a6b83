"""The page on which palettes lie side by side: what each gives, why, and the plates in it."""
