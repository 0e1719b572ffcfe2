"""What a page may cost: bytes on a garage's weak signal, and queries."""

MOST_HTML = 14_000
"""Compressed bytes of a page: what the first packets of a connection carry."""
MOST_OF_A_DOCUMENT = 20_000
"""Compressed bytes of a dossier: it holds every check in full, to be printed, and is asked for on purpose."""
MOST_FIRST_VISIT = 50_000
"""Compressed bytes of a page and every static file that it names."""
MOST_QUERIES = 28


def most_html(shape: str) -> int:
    """What a page of this shape (`tests.walk.shape_of`) may weigh [bytes]."""
    return MOST_OF_A_DOCUMENT if shape.endswith("/dossier") else MOST_HTML
