"""The work as a dated strip."""
