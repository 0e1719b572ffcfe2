"""Safe photo intake, and what is typed about a photo that stands.

A picture is decoded, turned upright, made smaller and written anew; nothing else of what was sent is kept,
neither the place it was taken nor anything hidden in the file.
"""

import hashlib
import io
import re
import warnings
from collections.abc import Mapping
from dataclasses import dataclass, replace

from PIL import Image, ImageOps, UnidentifiedImageError

from server.errors import BadInput, FieldError
from server.features.photos.page import SMALL_SIDE
from server.web.fields import one_of_two
from server.web.posted import LARGEST_FILE

MOST_PIXELS = 40_000_000
LONGEST_SIDE = 1600
QUALITY = 80
SMALL_QUALITY = 70
FORMATS = ("JPEG", "PNG", "WEBP")
ACCEPTS = "one JPEG, PNG or WebP picture of up to 12 MB and 40 megapixels"

PICTURE_PARTS = tuple(bytes([mark]) for mark in (0xE0, 0xDB, 0xC0, 0xC4, 0xDD, 0xDA))
"""Marks of the parts of a plain JPEG: header, tables, frame, restarts, scan."""
PLAIN_HEADER = b"\x00\x10JFIF\x00"
"""How the header of a JPEG begins that has no room for anything beside its density (ITU-T T.871, 10.1)."""
PART = re.compile(rb"\xff+([\x02-\xcf\xd9-\xfe])", re.DOTALL)
"""The mark of a part of a JPEG that states its length, or of its end; restarts stand within a scan."""
SCAN, END = b"\xda", b"\xd9"
MOST_SCANS = 32
"""A picture that comes in finer and finer passes has about ten. Each costs a look at every pixel, and its
sender some sixty bytes."""

HEIF_BRANDS = frozenset({b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis"})
"""What phones write that keep photos as HEIC or AVIF (ISO/IEC 23008-12, annex B)."""

# Pillow refuses at twice this size by itself and only warns below; here the warning is a refusal as well.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.simplefilter("error", Image.DecompressionBombWarning)


@dataclass(frozen=True, slots=True)
class Recoded:
    """A picture as it is kept: a JPEG without metadata, and a small one of at most 480 pixels.

    width, height: of the large one [pixels]; digest: its SHA-256 in hex.
    """

    content: bytes
    small: bytes
    width: int
    height: int
    digest: str


def recode(content: bytes) -> Recoded:
    """A picture written anew: upright, at most 1,600 pixels long, JPEG, without metadata.

    Raises BadInput on the field `photo` for what is too large, no JPEG, PNG or WebP, or broken.
    """
    if not content:
        raise refusal("The picture is empty.")
    if len(content) > LARGEST_FILE:
        raise refusal("The picture is larger than 12 MB.")
    if content[4:8] == b"ftyp" and content[8:12] in HEIF_BRANDS:
        raise refusal(
            "That is a HEIC or AVIF picture. Let the phone take photos as JPEG, or send it as JPEG."
        )
    if _scans(content) > MOST_SCANS:
        raise refusal(f"The picture is stored in more than {MOST_SCANS} passes.")
    picture = _decode(content)
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=QUALITY)
    kept = written.getvalue()
    digest = hashlib.sha256(kept).hexdigest()
    return Recoded(kept, _smaller(picture), picture.width, picture.height, digest)


def taken_over(content: bytes) -> Recoded:
    """A picture that was kept elsewhere: the same bytes where they hold pixels alone, else written anew.

    Raises BadInput.
    """
    again = recode(content)
    with Image.open(io.BytesIO(content), formats=FORMATS) as opened:
        as_large = opened.size == (again.width, again.height)
    if not (as_large and _pixels_alone(content)):
        return again
    return replace(again, content=content, digest=hashlib.sha256(content).hexdigest())


def _scans(content: bytes) -> int:
    """How many passes the first picture of a JPEG is stored in; none for any other file."""
    found, at = 0, 2
    while content[:2] == b"\xff\xd8" and (part := PART.search(content, at)) and part[1] != END:
        found += part[1] == SCAN
        at = part.end() + int.from_bytes(content[part.end() : part.end() + 2], "big")
    return found


def _pixels_alone(content: bytes) -> bool:
    """A JPEG whose parts are those of the picture itself, with nothing after it (ITU-T T.81, annex B)."""
    at = 2
    if content[:2] != b"\xff\xd8":
        return False
    while content[at : at + 1] == b"\xff" and content[at + 1 : at + 2] in PICTURE_PARTS:
        if content[at + 1 : at + 2] == SCAN:
            return content.find(b"\xff" + END, at) == len(content) - 2
        if content[at + 1 : at + 2] == b"\xe0" and not content.startswith(PLAIN_HEADER, at + 2):
            return False
        at += 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return False


def _smaller(picture: Image.Image) -> bytes:
    small = picture.copy()
    small.thumbnail((SMALL_SIDE, SMALL_SIDE))
    written = io.BytesIO()
    small.save(written, "JPEG", quality=SMALL_QUALITY)
    return written.getvalue()


def refusal(message: str) -> BadInput:
    return BadInput((FieldError("photo", message, ACCEPTS),), {})


def _decode(content: bytes) -> Image.Image:
    """The pixels alone, upright, made smaller, on white where the picture is transparent."""
    try:
        with Image.open(io.BytesIO(content), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise refusal("The picture has more than 40 megapixels.")
            opened.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            return _on_white(ImageOps.exif_transpose(opened))
    except BadInput:
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise refusal("The picture has more than 40 megapixels.") from error
    except UnidentifiedImageError as error:
        raise refusal("That file is not a JPEG, PNG or WebP picture.") from error
    except Exception as error:  # a decoder fed with hostile bytes may raise anything
        raise refusal("The picture is broken or incomplete.") from error


def _on_white(picture: Image.Image) -> Image.Image:
    """A new picture that has the pixels and nothing else of the old one."""
    paper = Image.new("RGB", picture.size, "white")
    if picture.mode.startswith("I"):  # 16 bits of grey, which `convert` would clip instead of scale
        picture = picture.point(lambda level: level / 256).convert("L")
    if picture.has_transparency_data:
        layer = picture.convert("RGBA")
        paper.paste(layer, mask=layer)
    else:
        paper.paste(picture.convert("RGB"))
    return paper


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether a photo is to be set aside (`withdrawn`) or put back (`standing`). Raises BadInput."""
    return one_of_two(typed, "to", "The photo", ("withdrawn", "standing"), usual="withdrawn")
