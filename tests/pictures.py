"""Pictures for tests, made and looked at again."""

import io
import os
import struct
import zlib
from datetime import datetime
from pathlib import Path

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


def written_at(moment: datetime, folder: Path) -> None:
    """Its files as if they had been written then: the machine's clock is not the one of the tests."""
    for path in folder.iterdir():
        os.utime(path, (moment.timestamp(), moment.timestamp()))


def segments(content: bytes) -> list[int]:
    """The markers of a JPEG before its scan."""
    found = []
    place = 2
    while content[place + 1] != 0xDA:
        found.append(content[place + 1])
        place += 2 + struct.unpack(">H", content[place + 2 : place + 4])[0]
    return found


def png(width: int, height: int, *chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG that says how large it is and holds almost nothing: a bomb costs its maker a few bytes.

    chunks: more of it, each a kind and its bytes, ahead of the pixels.
    """

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    size = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    parts = ((b"IHDR", size), *chunks, (b"IDAT", zlib.compress(b"")), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)
