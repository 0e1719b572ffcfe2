"""Addresses of the log, its notes, and photos."""

from datetime import date

from server.web.urls._front import telling


def log(build_id: int) -> str:
    return f"/builds/{build_id}/log"


def log_html(build_id: int) -> str:
    """The whole log as a file that needs nothing else."""
    return f"/builds/{build_id}/log.html"


def log_pdf(build_id: int) -> str:
    """The same on paper."""
    return f"/builds/{build_id}/log.pdf"


def log_days(build_id: int, last: date) -> str:
    """The log up to and including a day."""
    return f"/builds/{build_id}/log?to={last.isoformat()}"


def note(build_id: int, note_id: int) -> str:
    return f"/builds/{build_id}/log/{note_id}"


def note_photos(build_id: int, note_id: int) -> str:
    return f"/builds/{build_id}/log/{note_id}/photos"


def note_withdrawal(build_id: int, note_id: int) -> str:
    return f"/builds/{build_id}/log/{note_id}/withdrawal"


def photo(build_id: int, photo_id: int) -> str:
    return f"/builds/{build_id}/photos/{photo_id}"


def photo_original(build_id: int, photo_id: int) -> str:
    """The picture at its full size, where it was kept."""
    return f"/builds/{build_id}/photos/{photo_id}/original"


def photo_small(build_id: int, photo_id: int) -> str:
    return f"/builds/{build_id}/photos/{photo_id}?small=1"


def photo_sheet(build_id: int, photo_id: int, told: str = "") -> str:
    """The sheet of one photo: the picture, what it shows, and the way to set it aside."""
    return telling(f"/builds/{build_id}/photos/{photo_id}/sheet", told)


def photo_marks(build_id: int, photo_id: int) -> str:
    """Where a photo is drawn on."""
    return f"/builds/{build_id}/photos/{photo_id}/marks"


def photo_withdrawal(build_id: int, photo_id: int) -> str:
    return f"/builds/{build_id}/photos/{photo_id}/withdrawal"
