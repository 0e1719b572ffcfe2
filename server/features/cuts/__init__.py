"""The cut sheet of a design: each piece for the bench."""
