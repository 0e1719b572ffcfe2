"""Runs: the pieces of a design, the side ports on them and the joints between them."""
