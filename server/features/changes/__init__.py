"""What changed on a run: by the save just made, and against the design that it was started from."""
