"""Safe photo intake, and what is typed about a photo that stands.

A picture is decoded, turned upright, made smaller and written anew; nothing else of what was sent is kept,
neither the place it was taken nor anything hidden in the file. Where its original is wanted too, that is the
picture at its full size, again without all that is no picture.
"""

import hashlib
import io
import re
import warnings
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
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

WHOLE_PARTS = frozenset(bytes([mark]) for mark in (*range(0xC0, 0xD0), 0xDA, 0xDB, 0xDD))
"""Marks of the parts of any JPEG with its pixels: frame, tables, scans, restarts (ITU-T T.81, annex B)."""
ADOBE_HEADER = b"\x00\x0eAdobe"
"""How the part of a JPEG begins that tells how its colours are kept; it has no room for anything else."""
PNG_PARTS = frozenset({b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"})
"""Chunks of a PNG that its pixels are in (ISO/IEC 15948, 11.2 and 11.3)."""
ORIENTATION = 0x0112
TURNS = range(1, 9)
"""How a camera was held, as EXIF tells it; 1 is upright."""
WHOLE_QUALITY = 95
ORIGINALS = ("", "JPEG", "PNG", "WEBP")
"""Of what kind the original of a photo was sent; empty where it is not kept."""

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


@dataclass(frozen=True, slots=True)
class Original:
    """A picture at its full size, without metadata. kind: one of `ORIGINALS`, as it was sent."""

    content: bytes
    kind: str

    @property
    def digest(self) -> str:
        return hashlib.sha256(self.content).hexdigest()


def original_ending(kind: str) -> str:
    """How the file of an original is named, by its kind: a WebP picture is written anew as JPEG."""
    return "png" if kind == "PNG" else "jpg"


def wants_original(typed: Mapping[str, str]) -> bool:
    return bool(typed.get("original"))


def with_original(content: bytes) -> tuple[Recoded, Original]:
    """A picture as `recode` makes it, and its original. Raises BadInput.

    The pixels of a JPEG and of a PNG stay as they were sent, and so does how the camera was held; all else is
    left out. A WebP picture is written anew at its full size: its parts are not told apart here.
    """
    _look_over(content)
    with _opened(content) as picture:
        said = picture.getexif().get(ORIENTATION, 1)
        turned = said if said in TURNS else 1
        match kind := str(picture.format):
            case "WEBP":
                kept = Original(_whole(picture), kind)
            case "PNG":
                kept = Original(_bare_png(content, turned), kind)
            case _:  # one that holds several pictures says so in its format
                kept = Original(_bare_jpeg(content, turned), "JPEG")
    return recode(kept.content), kept


def _whole(picture: Image.Image) -> bytes:
    """Written anew as a JPEG of the same size. Raises BadInput where that takes more than a file may."""
    written = io.BytesIO()
    _on_white(ImageOps.exif_transpose(picture)).save(written, "JPEG", quality=WHOLE_QUALITY, subsampling=0)
    if written.tell() > LARGEST_FILE:
        raise refusal("Its original would take more than 12 MB. Send it without keeping the original.")
    return written.getvalue()


def _held(turned: int) -> bytes:
    """EXIF that says how the camera was held and nothing else (CIPA DC-008, 4.6)."""
    return b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0" + bytes([turned]) + bytes(6)


def _bare_jpeg(content: bytes, turned: int) -> bytes:
    """The first picture of a JPEG: its parts with pixels alone, between them what each scan says."""
    headers: list[bytes] = []
    parts: list[bytes] = []
    at, in_scan = 2, False
    while True:
        part = PART.search(content, at)
        if in_scan:
            parts.append(content[at : part.start() if part else len(content)])
        if part is None or part[1] == END:
            break
        at = part.end() + int.from_bytes(content[part.end() : part.end() + 2], "big")
        whole = b"\xff" + part[1] + content[part.end() : at]
        in_scan = part[1] == SCAN
        if part[1] == b"\xe0" and whole.startswith(PLAIN_HEADER, 2) and not headers:
            headers.append(whole)
        elif part[1] in WHOLE_PARTS or (part[1] == b"\xee" and whole.startswith(ADOBE_HEADER, 2)):
            parts.append(whole)
    if turned != 1:
        said = b"Exif\0\0" + _held(turned)
        headers.append(b"\xff\xe1" + (len(said) + 2).to_bytes(2, "big") + said)
    return b"\xff\xd8" + b"".join(headers) + b"".join(parts) + b"\xff" + END


def _bare_png(content: bytes, turned: int) -> bytes:
    parts, at = [content[:8]], 8
    while at < len(content):
        end = at + 12 + int.from_bytes(content[at : at + 4], "big")
        kind = content[at + 4 : at + 8]
        if kind in PNG_PARTS:
            parts.append(content[at:end])
        if kind == b"IHDR" and turned != 1:
            said = b"eXIf" + _held(turned)
            parts.append((len(said) - 4).to_bytes(4, "big") + said + zlib.crc32(said).to_bytes(4, "big"))
        if kind == b"IEND":
            break
        at = end
    return b"".join(parts)


def recode(content: bytes) -> Recoded:
    """A picture written anew: upright, at most 1,600 pixels long, JPEG, without metadata.

    Raises BadInput on the field `photo` for what is too large, no JPEG, PNG or WebP, or broken.
    """
    _look_over(content)
    picture = _decode(content)
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=QUALITY)
    kept = written.getvalue()
    digest = hashlib.sha256(kept).hexdigest()
    return Recoded(kept, _smaller(picture), picture.width, picture.height, digest)


def _look_over(content: bytes) -> None:
    """What can be said of a file before it is decoded. Raises BadInput."""
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
    with _opened(content) as picture:
        picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        return _on_white(ImageOps.exif_transpose(picture))


@contextmanager
def _opened(content: bytes) -> Iterator[Image.Image]:
    """A picture of no more pixels than may be, still to be decoded. Whatever that raises becomes BadInput."""
    try:
        with Image.open(io.BytesIO(content), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise refusal("The picture has more than 40 megapixels.")
            yield opened
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
