"""Pictures for tests, made and looked at again."""

import io

from PIL import Image

Picture = Image.Image


def picture(width: int = 400, height: int = 300) -> Picture:
    """Red on the left, blue on the right."""
    made = Image.new("RGB", (width, height), (200, 20, 20))
    made.paste((20, 20, 200), (width // 2, 0, width, height))
    return made


def saved(made: Picture, form: str = "JPEG", **how: object) -> bytes:
    written = io.BytesIO()
    made.save(written, form, **how)
    return written.getvalue()


def reopened(content: bytes) -> Picture:
    opened = Image.open(io.BytesIO(content))
    opened.load()
    return opened
