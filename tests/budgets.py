"""What a page may cost: bytes on a garage's weak signal, and queries."""

MOST_HTML = 14_000
"""Compressed bytes of a page: what the first packets of a connection carry."""
MOST_FIRST_VISIT = 50_000
"""Compressed bytes of a page and every static file that it names."""
MOST_QUERIES = 28
