"""The original of a photo: the pixels that were sent, at their full size, and nothing that came with them."""

import io
import zipfile
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as how
from hypothesis import strategies as st
from PIL import ExifTags, Image, ImageChops, ImageOps, PngImagePlugin
from sqlalchemy import Engine
from sqlmodel import Session, select

from server import doctor, keeping
from server.db import write_session
from server.errors import BadInput
from server.features.archive.service import export_build, import_build
from server.features.photos import service, store
from server.features.photos.forms import recode, with_original
from server.features.photos.tables import Photo
from server.settings import Settings
from tests.factories import a_build
from tests.pictures import Picture, picture, reopened, saved, segments, written_at

LARGE = 2400, 1800
STREET = b"my street"


def exif(turned: int = 1) -> Image.Exif:
    """What a phone writes into a photo: itself, the place, how it was held."""
    said = Image.Exif()
    said[ExifTags.Base.Make] = "a phone"
    said[ExifTags.Base.Orientation] = turned
    said.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (47.0, 30.0, 0.0)
    return said


def same_pixels(one: Picture, other: Picture) -> bool:
    alike = (one.mode, one.size) == (other.mode, other.size)
    return alike and ImageChops.difference(one, other).getbbox(alpha_only=False) is None


@pytest.mark.parametrize("turned", [1, 3, 6, 8])
@pytest.mark.parametrize("progressive", [False, True], ids=["plain", "in passes"])
def test_a_jpeg_keeps_every_pixel_and_stands_upright_and_tells_nothing_more(
    turned: int, progressive: bool
) -> None:
    plain = saved(picture(*LARGE), exif=exif(turned), comment=STREET, xmp=STREET, progressive=progressive)
    scan = plain.index(b"\xff\xda", plain.index(b"\xff\xda") + 2) if progressive else len(plain) - 2
    said = b"\xff\xfe" + (len(STREET) + 2).to_bytes(2, "big") + STREET
    sent = plain[:scan] + said + plain[scan:] + b"PK\x03\x04" + STREET
    _, kept = with_original(sent)
    seen = reopened(kept.content)
    assert same_pixels(ImageOps.exif_transpose(seen), ImageOps.exif_transpose(reopened(plain)))
    assert STREET not in kept.content
    assert dict(seen.getexif()) == ({} if turned == 1 else {ExifTags.Base.Orientation: turned})
    assert {mark for mark in segments(kept.content) if mark >= 0xE0} <= {0xE0, 0xE1}
    assert len(plain) - 1000 < len(kept.content) < len(plain)
    assert recode(kept.content) == recode(plain)


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_a_jpeg_of_other_colours_keeps_them(mode: str) -> None:
    sent = saved(picture().convert(mode), exif=exif())
    assert same_pixels(reopened(with_original(sent)[1].content), reopened(sent))


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "I;16"])
def test_a_png_keeps_every_pixel_and_no_text(mode: str) -> None:
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Comment", STREET.decode())
    made = Image.new(mode, LARGE) if mode == "I;16" else picture(*LARGE).convert(mode)
    sent = saved(made, "PNG", pnginfo=texts, exif=exif(6)) + STREET
    _, kept = with_original(sent)
    seen = reopened(kept.content)
    assert kept.kind == seen.format == "PNG"
    assert STREET not in kept.content
    assert dict(seen.getexif()) == {ExifTags.Base.Orientation: 6}
    assert seen.tobytes() == reopened(sent).tobytes()


def test_a_webp_picture_is_written_anew_at_its_full_size_and_upright() -> None:
    _, kept = with_original(saved(picture(*LARGE), "WEBP", exif=exif(6), xmp=STREET))
    seen = reopened(kept.content)
    assert (kept.kind, seen.format, seen.size) == ("WEBP", "JPEG", LARGE[::-1])
    assert not seen.getexif()
    assert STREET not in kept.content


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_an_original_is_its_own_original(form: str) -> None:
    """So that a build that is brought in has the same bytes."""
    _, kept = with_original(saved(picture(), form, exif=exif(6)))
    assert with_original(kept.content)[1] == kept


WHOLE = {form: saved(picture(40, 30), form, exif=exif(6)) for form in ("JPEG", "PNG", "WEBP")}
DAMAGE = st.lists(st.tuples(st.integers(0, 2000), st.integers(0, 255)), max_size=6)


def form_kept(content: bytes) -> str | None:
    """In which form the original of a picture is kept; any other error than a refusal is a fault."""
    try:
        _, kept = with_original(content)
    except BadInput:
        return "refused"
    return reopened(kept.content).format


@how(deadline=None)
@given(st.sampled_from(sorted(WHOLE)), DAMAGE)
def test_a_damaged_picture_is_kept_or_refused_in_words(form: str, damage: list[tuple[int, int]]) -> None:
    content = bytearray(WHOLE[form])
    for place, byte in damage:
        content[place % len(content)] = byte
    assert form_kept(bytes(content)) in {"JPEG", "PNG", "refused"}


def keep(session: Session, folder: Path, build_id: int, now: datetime, content: bytes) -> Photo:
    return service.store_photo(
        session, folder, build_id, "log", 1, content, now, "builder", keep_original=True
    )


def files(settings: Settings) -> list[str]:
    return sorted(path.name[32:] for path in settings.photos.iterdir())


def test_an_original_stands_beside_its_photo_counts_and_goes_with_it(
    engine: Engine, settings: Settings, now: datetime
) -> None:
    with write_session(engine) as session:
        build = a_build(session, now)
        photo = keep(session, settings.photos, build.id, now, saved(picture(*LARGE), exif=exif()))
        written_at(now, settings.photos)
        assert photo.original_size > 0
        assert store.usage(session, build.id) == (1, photo.size + photo.original_size)
        service.sweep_orphans(session, settings.photos, now + timedelta(days=2))
        assert files(settings) == [".jpg", ".o.jpg", ".s.jpg"]
        store.set_withdrawn(session, photo, now)
        for days in (31, 32):
            service.clear_away(session, settings.photos, now + timedelta(days=days))
    assert files(settings) == []


def test_originals_fill_what_a_build_may_take(
    engine: Engine, settings: Settings, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = saved(picture(*LARGE))
    monkeypatch.setattr(service, "MOST_BYTES", len(recode(sent).content) + 1)
    with write_session(engine) as session:
        build = a_build(session, now)
        with pytest.raises(BadInput, match="1 GB"):
            keep(session, settings.photos, build.id, now, sent)
    assert files(settings) == []


def test_the_look_over_counts_originals_and_misses_one_that_is_gone(
    engine: Engine, settings: Settings, now: datetime, tmp_path: Path
) -> None:
    with write_session(engine) as session:
        keep(session, settings.photos, a_build(session, now).id, now, saved(picture(), "PNG"))
    said = " ".join(finding.text for finding in doctor.look_over(settings, now))
    assert "Photos: 1, and 1 original; 0 without a file, 0 files that no entry uses." in said
    copy = keeping.backup(settings, tmp_path / "copies", now)
    [original] = settings.photos.glob("*.o.png")
    assert (copy / "photos" / original.name).read_bytes() == original.read_bytes()
    original.unlink()
    assert f"Missing: {original.name}" in " ".join(one.text for one in doctor.look_over(settings, now))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_build_goes_out_and_comes_in_with_its_originals(
    engine: Engine, settings: Settings, now: datetime, form: str
) -> None:
    with write_session(engine) as session:
        build = a_build(session, now)
        first = keep(session, settings.photos, build.id, now, saved(picture(), form, exif=exif(6)))
    ending = "png" if form == "PNG" else "jpg"
    to = io.BytesIO()
    with write_session(engine) as session:
        export_build(session, settings.photos, build.id, to, now)
        assert f"photos/1.original.{ending}" in zipfile.ZipFile(to).namelist()
        number = import_build(session, settings.photos, to)
        assert service.original(session, settings.photos, number, 2) == (
            service.original(session, settings.photos, build.id, 1)
        )
        second = session.exec(select(Photo).where(Photo.build_id == number)).one()
        assert second.original_kind == first.original_kind == form


def test_an_archive_with_another_original_is_refused(
    engine: Engine, settings: Settings, now: datetime
) -> None:
    to, changed = io.BytesIO(), io.BytesIO()
    with write_session(engine) as session:
        build = a_build(session, now)
        keep(session, settings.photos, build.id, now, saved(picture()))
        export_build(session, settings.photos, build.id, to, now)
    with zipfile.ZipFile(to) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            new.writestr(name, saved(picture(30, 30)) if "original" in name else old.read(name))
    before = files(settings)
    with write_session(engine) as session, pytest.raises(BadInput, match="was changed"):
        import_build(session, settings.photos, changed)
    assert files(settings) == before
