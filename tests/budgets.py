"""What a page may cost: bytes on a garage's weak signal, and queries."""

from server.web.assets import static

HTMX = "vendor/htmx-2.0.11.min.js"
MOST_HTML = 14_000
"""Compressed bytes of a page: what the first packets of a connection carry."""
MOST_OF_A_DOCUMENT = 20_000
"""Compressed bytes of a dossier: it holds every check in full, to be printed, and is asked for on purpose."""
MOST_FILES = 17_500
"""Compressed bytes of all static files that a page names, where it comes without htmx."""
MOST_FILES_WITH_HTMX = 34_400
"""The same of a page with forms that swap a part of it by htmx."""
MOST_QUERIES = 28


def most_html(shape: str) -> int:
    """What a page of this shape (`tests.walk.shape_of`) may weigh [bytes]."""
    return MOST_OF_A_DOCUMENT if shape.endswith("/dossier") else MOST_HTML


def most_of_first_visit(shape: str, page: str) -> int:
    """What a page of this shape and all the static files that it names may weigh [bytes]."""
    return most_html(shape) + (MOST_FILES_WITH_HTMX if static(HTMX) in page else MOST_FILES)
