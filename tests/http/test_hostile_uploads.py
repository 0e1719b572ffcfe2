"""What becomes of files that people of ill will, and phones gone wrong, send as a photo: a table.

Each row: what is sent, under which name and type, and what is answered; then it is looked at what is on the
disk. Whatever is kept is a picture written anew under a name of our own, and hands out as nothing else.
"""

import io
import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import ExifTags, Image

from server.features.photos.forms import MOST_SCANS
from server.features.photos.service import OURS
from server.web.posted import LARGEST_UPLOAD
from tests.asking import Browser, fresh_key
from tests.pictures import picture, png, reopened, saved, segments

KEPT = 303
NO_PICTURE = "That file is not a JPEG, PNG or WebP picture."
BROKEN = "The picture is broken or incomplete."
TOO_MANY = "The picture has more than 40 megapixels."
HEIC = "That is a HEIC or AVIF picture. Let the phone take photos as JPEG, or send it as JPEG."
PASSES = f"The picture is stored in more than {MOST_SCANS} passes."

JPEG = saved(picture(60, 45))
PAGE = b"<html><script>alert(1)</script></html>"
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><script>alert(1)</script></svg>'
SECRET = b"52.5163 N 13.3777 E, my street"
BOMB = zlib.compress(bytes(16_000_000))
"""Sixteen million zeros in sixteen thousand bytes."""


def zipped() -> bytes:
    to = io.BytesIO()
    with zipfile.ZipFile(to, "w") as file:
        file.writestr("run.js", "alert(1)")
    return to.getvalue()


def moving(form: str) -> bytes:
    return saved(picture(60, 45), form, save_all=True, append_images=[picture(60, 45).rotate(90)] * 3)


def of_many_passes() -> bytes:
    """A picture that comes finer and finer, its last pass again and again: sixty bytes each."""
    whole = saved(picture(60, 45), progressive=True)
    last = whole[whole.rindex(b"\xff\xda") : -2]
    return whole[:-2] + last * 2 * MOST_SCANS + whole[-2:]


def exif_in_a_ring() -> bytes:
    """Facts whose list names itself as the next, and one fact of four thousand million values."""
    tags = struct.pack("<HHHIII", 1, 0x8825, 4, 0xFFFFFFFF, 8, 8)
    told = b"Exif\x00\x00II*\x00" + struct.pack("<I", 8) + tags
    return JPEG[:2] + b"\xff\xe1" + struct.pack(">H", len(told) + 2) + told + JPEG[2:]


def told_where() -> dict[str, bytes]:
    """The same place in every pocket that a picture has for it."""
    exif = Image.Exif()
    exif[ExifTags.Base.ImageDescription] = SECRET.decode()
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSAreaInformation] = SECRET
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.MakerNote] = SECRET
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/">' + SECRET + b"</x:xmpmeta>"
    jpeg = saved(picture(60, 45), exif=exif, xmp=xmp, comment=SECRET, icc_profile=SECRET)
    captions = b"Photoshop 3.0\x008BIM\x04\x04\x00\x00" + struct.pack(">I", len(SECRET)) + SECRET
    small = b"JFXX\x00\x10" + saved(picture(8, 6), comment=SECRET)
    for mark, held in ((b"\xed", captions), (b"\xe0", small), (b"\xef", SECRET)):
        jpeg = jpeg[:2] + b"\xff" + mark + struct.pack(">H", len(held) + 2) + held + jpeg[2:]
    return {
        "JPEG": jpeg + SECRET,
        "PNG": saved(picture(60, 45), "PNG", exif=exif, icc_profile=SECRET)[:-12] + SECRET,
        "WEBP": saved(picture(60, 45), "WEBP", exif=exif, xmp=xmp, icc_profile=SECRET),
    }


TABLE: dict[str, tuple[bytes, str, str, str]] = {
    # what is sent: its bytes, its name, its type, and the answer: empty where it is kept
    "a page behind a JPEG": (JPEG + PAGE, "a.jpg", "image/jpeg", ""),
    "a page in a JPEG's comment": (saved(picture(60, 45), comment=PAGE), "a.jpg", "image/jpeg", ""),
    "a JPEG that is a zip too": (JPEG + zipped(), "a.jpg", "image/jpeg", ""),
    "a JPEG behind a page": (PAGE + JPEG, "a.jpg", "image/jpeg", NO_PICTURE),
    "a page named as a picture": (PAGE, "a.jpg", "image/jpeg", NO_PICTURE),
    "a GIF that is a script": (b"GIF89a=1;alert(1)//", "a.gif", "image/gif", NO_PICTURE),
    "a GIF that moves": (moving("GIF"), "a.gif", "image/gif", NO_PICTURE),
    "an SVG with a script": (SVG, "a.svg", "image/svg+xml", NO_PICTURE),
    "an SVG named as a JPEG": (SVG, "a.jpg", "image/jpeg", NO_PICTURE),
    "a program": (b"\x7fELF" + bytes(200), "a.jpg", "image/jpeg", NO_PICTURE),
    "a PDF": (b"%PDF-1.7\n" + JPEG, "a.pdf", "application/pdf", NO_PICTURE),
    "a zip": (zipped(), "a.zip", "application/zip", NO_PICTURE),
    "a HEIC": (b"\x00\x00\x00\x18ftypheic" + bytes(200), "IMG_1.HEIC", "image/heic", HEIC),
    "an AVIF": (b"\x00\x00\x00\x18ftypavif" + bytes(200), "a.avif", "image/avif", HEIC),
    "nothing": (b"", "a.jpg", "image/jpeg", "The picture is empty."),
    "a JPEG cut off": (JPEG[: len(JPEG) // 2], "a.jpg", "image/jpeg", BROKEN),
    "three bytes of a JPEG": (JPEG[:3], "a.jpg", "image/jpeg", NO_PICTURE),
    "400 megapixels in 70 bytes": (png(20_000, 20_000), "a.png", "image/png", TOO_MANY),
    "a text that unpacks to 16 MB": (png(9, 9, (b"zTXt", b"a\0\0" + BOMB)), "a.png", "image/png", BROKEN),
    "a long text in Unicode": (png(9, 9, (b"iTXt", b"a\0\1\0\0\0" + BOMB)), "a.png", "image/png", BROKEN),
    "a colour profile of 16 MB": (png(9, 9, (b"iCCP", b"a\0\0" + BOMB)), "a.png", "image/png", BROKEN),
    "facts that go in a ring": (exif_in_a_ring(), "a.jpg", "image/jpeg", ""),
    "a JPEG of endless passes": (of_many_passes(), "a.jpg", "image/jpeg", PASSES),
    "a JPEG of a few passes": (saved(picture(60, 45), progressive=True), "a.jpg", "image/jpeg", ""),
    "a PNG that moves": (moving("PNG"), "a.png", "image/png", ""),
    "a WebP that moves": (moving("WEBP"), "a.webp", "image/webp", ""),
    "a PNG sent as a page": (saved(picture(60, 45), "PNG"), "a.html", "text/html", ""),
    "a name that climbs": (JPEG, "../../../server/app.py", "image/jpeg", ""),
    "a name that climbs back": (JPEG, "..\\..\\boot.ini", "image/jpeg", ""),
    "a name from the root": (JPEG, "/etc/passwd", "image/jpeg", ""),
    "a name with two endings": (JPEG, "a.jpg.php", "image/jpeg", ""),
    "a name written backwards": (JPEG, "\u202egpj.exe", "image/jpeg", ""),
    "a name that is a page": (JPEG, '"><script>alert(1)</script>.jpg', "image/jpeg", ""),
    "a name without end": (JPEG, "a" * 2_000, "image/jpeg", ""),
    **{f"a place in a {form}": (sent, "a", "image/*", "") for form, sent in told_where().items()},
}


@pytest.fixture(scope="module")
def port(bench: Browser) -> str:
    bench.post("/builds", {"name": "The saloon"})
    address: str = bench.post("/builds/1/ports", {"name": "Compressor inlet"}).headers["location"]
    return address


@pytest.fixture
def folder(bench: Browser) -> Path:
    found: Path = bench.client._transport.app.state.settings.data  # type: ignore[attr-defined]
    return found


def files_in(folder: Path) -> set[Path]:
    """Every file of the data folder but the database's own."""
    return {path for path in folder.rglob("*") if path.is_file() and "sqlite" not in path.name}


def plain(content: bytes) -> bool:
    """A JPEG of pixels alone: nothing in it that people wrote, and nothing behind it."""
    told = {mark for mark in segments(content) if mark == 0xFE or 0xE1 <= mark <= 0xEF}
    frames = getattr(reopened(content), "n_frames", 1)
    return not told and frames == 1 and content.endswith(b"\xff\xd9")


@pytest.mark.filterwarnings("ignore:Tag data larger than file")
@pytest.mark.parametrize("case", TABLE)
def test_what_becomes_of_it(bench: Browser, port: str, folder: Path, case: str) -> None:
    content, name, kind, refusal = TABLE[case]
    before = files_in(folder)
    sent = {"photo": (name, content, kind)}
    answer = bench.post(f"{port}/photos", {"caption": "the bead"}, files=sent)
    new = sorted(files_in(folder) - before)
    if refusal:
        assert answer.status_code == 422
        assert refusal in answer.text
        assert 'value="the bead"' in answer.text
        assert new == []
        return
    assert answer.status_code == KEPT
    large, small = sorted(new, key=lambda path: len(path.name))
    assert {path.parent.name for path in new} == {"photos"}
    assert all(OURS.fullmatch(path.name) and path.stat().st_mode & 0o111 == 0 for path in new)
    for path in (large, small):
        kept = path.read_bytes()
        assert plain(kept)
        assert not zipfile.is_zipfile(path)
        assert not any(word in kept for word in (b"script", SECRET, b"my street", b"52.51"))
    [shown] = bench.get_json(port)["photos"]["first"]
    picture_of(bench, shown["source"], small.read_bytes())
    picture_of(bench, shown["source"].split("?")[0], large.read_bytes())
    number = shown["source"].split("?")[0].rsplit("/", maxsplit=1)[1]
    assert bench.post(f"/builds/1/photos/{number}/withdrawal", {"to": "withdrawn"}).status_code == KEPT


def picture_of(bench: Browser, address: str, stands: bytes) -> None:
    """The file as it stands, and headers under which nothing in it can act."""
    answer = bench.get(address)
    assert answer.content == stands
    told = {name: answer.headers[name] for name in ("content-type", "x-content-type-options")}
    assert told == {"content-type": "image/jpeg", "x-content-type-options": "nosniff"}
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox"
    assert answer.headers["content-disposition"].startswith('inline; filename="photo-')


@pytest.mark.parametrize(
    "address",
    [
        "/builds/1/photos/../../../../etc/passwd",
        "/builds/1/photos/%2e%2e%2f%2e%2e%2fwitness-mark.sqlite",
        "/builds/1/photos/..%5c..%5cpassphrase",
        "/builds/1/photos/1.jpg",
        "/builds/1/photos/1%00.jpg",
        "/builds/1/photos/-1",
        "/builds/1/photos/99999999999999999999",
        "/static/../server/settings.py",
        "/static/%2e%2e/server/settings.py",
        "/static/..%2fdata%2fpassphrase",
        "/photos/1",
    ],
)
def test_no_address_leads_to_another_file(bench: Browser, port: str, address: str) -> None:
    assert port
    assert bench.get(address).status_code == 404


MEGABYTE = bytes(1024 * 1024)
HEAD = (
    b'--x\r\nContent-Disposition: form-data; name="operation_key"\r\n\r\nlarge\r\n'
    b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'
)


class Upload:
    """Two hundred megabytes on their way; read: so many bytes were asked for."""

    def __init__(self) -> None:
        self.read = 0

    async def __aiter__(self) -> AsyncIterator[bytes]:
        for part in (HEAD, *(MEGABYTE,) * 200, b"\r\n--x--\r\n"):
            self.read += len(part)
            yield part


@pytest.fixture
def traced() -> Iterator[None]:
    tracemalloc.start()
    yield
    tracemalloc.stop()


@pytest.mark.usefixtures("traced")
@pytest.mark.parametrize("stated", [True, False], ids=["its length is stated", "its length is not stated"])
def test_200_mb_are_refused_early_and_never_stand_in_memory(
    bench: Browser, port: str, folder: Path, stated: bool
) -> None:
    upload, before = Upload(), files_in(folder)
    headers: dict[str, Any] = {"content-type": "multipart/form-data; boundary=x"}
    headers |= {"content-length": str(200 * len(MEGABYTE))} if stated else {}
    asked = bench.client.post(f"{port}/photos", content=upload, headers=headers)
    answer = bench.runner.run(asked)
    assert answer.status_code == 413
    assert "a picture may have up to 12 MB" in answer.text
    assert upload.read <= (0 if stated else LARGEST_UPLOAD + len(MEGABYTE))
    assert tracemalloc.get_traced_memory()[1] < 12 * len(MEGABYTE)
    assert files_in(folder) == before


def test_a_form_without_files_is_refused_when_it_is_endless(bench: Browser) -> None:
    body = b"name=" + b"x" * 9_000_000
    headers = {"content-type": "application/x-www-form-urlencoded"}
    asked = bench.client.post("/builds", content=body, headers=headers)
    assert bench.runner.run(asked).status_code == 413
    assert bench.post("/builds", {"name": "x" * 9_000, "operation_key": fresh_key()}).status_code == 422
