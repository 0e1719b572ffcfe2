"""The isometric drawing of a design."""
