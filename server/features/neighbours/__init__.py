"""What stands near a run: rows, forms and queries."""
