"""Where ports are: rows, forms and queries."""
