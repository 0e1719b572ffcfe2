"""A design as it is worked on: its sheet, and the acts on it."""
