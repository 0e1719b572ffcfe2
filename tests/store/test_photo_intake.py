"""Pictures as phones, scanners and people of ill will send them: what is kept, what is refused."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image, PngImagePlugin

from server.errors import BadInput
from server.features.photos.forms import recode
from server.web.posted import LARGEST_FILE
from tests.pictures import Picture, picture, png, reopened, saved, segments


def hue(seen: Picture, across: int, down: int) -> str:
    red, blue = (seen.getchannel(name).getpixel((across, down)) for name in "RB")
    assert isinstance(red, int)
    assert isinstance(blue, int)
    return "red" if red > blue else "blue"


def said(content: bytes) -> str:
    with pytest.raises(BadInput) as refused:
        recode(content)
    [error] = refused.value.errors
    assert error.field == "photo"
    assert "JPEG, PNG or WebP" in error.accepts
    return error.message


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_the_three_usual_kinds_become_a_jpeg_of_the_same_size(form: str) -> None:
    kept = recode(saved(picture(), form))
    seen = reopened(kept.content)
    assert (seen.format, seen.size) == ("JPEG", (400, 300))
    assert (kept.width, kept.height) == (400, 300)


def test_a_large_picture_is_made_smaller_and_keeps_its_shape() -> None:
    kept = recode(saved(picture(4000, 3000)))
    assert (kept.width, kept.height) == (1600, 1200)


def test_the_place_it_was_taken_and_everything_else_hidden_in_it_is_gone() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "a phone"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (47.0, 30.0, 0.0)
    sent = saved(picture(), exif=exif, comment=b"my street", xmp=b"<x>my street</x>", icc_profile=b"profile")
    assert reopened(sent).getexif().get_ifd(ExifTags.IFD.GPSInfo)
    kept = recode(sent).content
    assert not reopened(kept).getexif()
    assert b"my street" not in kept
    app0, *others = segments(kept)
    assert app0 == 0xE0
    assert not [marker for marker in others if marker == 0xFE or 0xE0 <= marker <= 0xEF]


def test_texts_in_a_png_are_gone() -> None:
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Comment", "my street")
    sent = saved(picture(), "PNG", pnginfo=texts)
    assert b"my street" in sent
    assert b"my street" not in recode(sent).content


def test_a_picture_taken_with_the_phone_upright_stands_upright() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6  # the camera was turned a quarter clockwise
    kept = recode(saved(picture(), exif=exif))
    assert (kept.width, kept.height) == (300, 400)
    seen = reopened(kept.content)
    assert hue(seen, 150, 50) == "red"
    assert hue(seen, 150, 350) == "blue"


def test_a_large_picture_is_turned_as_well() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 8
    kept = recode(saved(picture(3200, 2400), exif=exif))
    assert (kept.width, kept.height) == (1200, 1600)


def test_what_is_transparent_is_shown_on_white() -> None:
    clear = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
    assert reopened(recode(saved(clear, "PNG")).content).getpixel((10, 10)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "I;16"])
def test_grey_indexed_and_deep_pictures_can_be_used(mode: str) -> None:
    assert recode(saved(Image.new(mode, (20, 10)), "PNG")).width == 20


def test_a_deep_grey_picture_keeps_its_brightness() -> None:
    half = Image.new("I;16", (20, 10), 32768)
    assert reopened(recode(saved(half, "PNG")).content).getpixel((5, 5)) == pytest.approx((128,) * 3, abs=2)


def test_print_colours_can_be_used() -> None:
    assert recode(saved(Image.new("CMYK", (20, 10)))).height == 10


def test_the_same_picture_has_the_same_digest() -> None:
    assert recode(saved(picture())) == recode(saved(picture()))
    assert len(recode(saved(picture())).digest) == 64


def test_what_is_hidden_behind_a_picture_is_not_kept() -> None:
    page = b"<html><script>alert(1)</script></html>PK\x03\x04"
    kept = recode(saved(picture()) + page)
    assert b"script" not in kept.content
    assert b"PK\x03\x04" not in kept.content


def test_a_page_that_pretends_to_be_a_picture_is_refused() -> None:
    assert said(b"<html><img src='data:image/jpeg;base64,'></html>") == (
        "That file is not a JPEG, PNG or WebP picture."
    )


@pytest.mark.parametrize(
    "content",
    [
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><script>alert(1)</script></svg>',
        b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>',
        saved(picture(), "GIF"),
        saved(picture(), "TIFF"),
        saved(picture(), "BMP"),
        b"%PDF-1.7",
        b"\xff\xd8\xff",
    ],
    ids=["svg", "xml", "gif", "tiff", "bmp", "pdf", "three bytes of a jpeg"],
)
def test_other_kinds_of_file_are_refused(content: bytes) -> None:
    assert said(content) in {
        "That file is not a JPEG, PNG or WebP picture.",
        "The picture is broken or incomplete.",
    }


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_that_was_cut_off_is_refused(form: str) -> None:
    whole = saved(picture(), form)
    assert said(whole[: len(whole) // 2]) == "The picture is broken or incomplete."


def test_nothing_at_all_is_refused() -> None:
    assert said(b"") == "The picture is empty."


def test_more_than_12_mb_is_refused_unread() -> None:
    assert said(b"\xff\xd8" + b"0" * LARGEST_FILE) == "The picture is larger than 12 MB."


@pytest.mark.parametrize(
    ("width", "height"), [(20_000, 20_000), (8_000, 6_000), (40_000_001, 1)], ids=["400 M", "48 M", "a line"]
)
def test_a_picture_of_too_many_pixels_is_refused_before_it_is_unpacked(width: int, height: int) -> None:
    assert said(png(width, height)) == "The picture has more than 40 megapixels."


def test_forty_megapixels_are_not_too_many() -> None:
    assert recode(saved(Image.new("L", (8_000, 5_000)))).width == 1600


def kept_or_refused(content: bytes) -> bool:
    """Whether a picture came out that can be read, or a refusal that says why; any other error is a fault."""
    try:
        kept = recode(content)
    except BadInput as refused:
        return bool(refused.errors[0].message)
    return max(reopened(kept.content).size) <= 1600


@given(
    st.binary(max_size=300),
    st.sampled_from([b"", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"RIFF\x40\0\0\0WEBPVP8 "]),
)
def test_any_bytes_are_either_kept_or_refused_in_words(tail: bytes, head: bytes) -> None:
    assert kept_or_refused(head + tail)


WHOLE = {form: saved(picture(40, 30), form) for form in ("JPEG", "PNG", "WEBP")}


@settings(deadline=None)
@given(
    st.sampled_from(sorted(WHOLE)), st.lists(st.tuples(st.integers(0, 2000), st.integers(0, 255)), max_size=6)
)
def test_a_picture_with_damaged_bytes_is_either_kept_or_refused_in_words(
    form: str, damage: list[tuple[int, int]]
) -> None:
    content = bytearray(WHOLE[form])
    for place, byte in damage:
        content[place % len(content)] = byte
    assert kept_or_refused(bytes(content))
