"""The original of a photo, where it was asked for: handed to those who may have it and to nobody else."""

import io

import httpx
from PIL import Image

from tests.asking import Browser, number_in
from tests.http.test_helping import Garage, garage
from tests.pictures import picture, saved

__all__ = ["garage"]
LARGE = saved(picture(2000, 1500), quality=95)
FILE = {"photo": ("IMG_0001.jpg", LARGE, "image/jpeg")}


def noted(browser: Browser, **typed: str) -> str:
    """A note with a photo; the address of the photo."""
    build = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    assert browser.post(f"/builds/{build}/log", {"text": "Stud 3", **typed}, files=FILE).status_code == 303
    return f"/builds/{build}/photos/1"


def size_of(answer: httpx.Response) -> tuple[int, int]:
    assert answer.status_code == 200
    return Image.open(io.BytesIO(answer.content)).size


def test_no_original_is_kept_unless_it_is_wanted(browser: Browser) -> None:
    photo = noted(browser)
    assert browser.get(f"{photo}/original").status_code == 404
    assert ">original, " not in browser.get(f"{photo}/sheet").text


def test_an_original_that_was_wanted_is_linked_beside_its_photo_with_its_size(browser: Browser) -> None:
    photo = noted(browser, original="on")
    answer = browser.get(f"{photo}/original")
    assert size_of(answer) == (2000, 1500)
    assert answer.headers["content-disposition"] == 'inline; filename="original-1.jpg"'
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox"
    link = f'href="{photo}/original">original, {round(len(answer.content) / 1024)} kB</a>'
    for page in (f"{photo}/sheet", photo.replace("photos/1", "log")):
        assert link in browser.get(page).text, page
    assert size_of(browser.get(photo)) == (1600, 1200)
    assert browser.get(photo.replace("builds/1", "builds/2") + "/original").status_code == 404


def test_the_choice_is_kept_in_a_form_that_is_refused(browser: Browser) -> None:
    build = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    refused = browser.post(f"/builds/{build}/log", {"text": "", "original": "on"}, files=FILE)
    assert refused.status_code == 422
    assert 'name="original" checked' in refused.text


def test_a_helper_has_the_original_that_came_by_the_link_and_no_other(garage: Garage) -> None:
    link = garage.link()
    assert garage.helper.post(f"{link}/notes", {"text": "Cracked", "original": "on"}, files=FILE).is_redirect
    [original] = [
        shown["original"]["href"]
        for note in garage.helper.get_json(link)["notes"]
        for shown in note["photos"]
    ]
    assert original.startswith(link)
    assert size_of(garage.helper.get(original)) == (2000, 1500)
    assert garage.builder.get("/builds/1/photos/1/original").status_code == 200
    assert garage.helper.get(f"{link}/photos/1/original").status_code == 404


def test_a_page_for_friends_gives_out_no_original(garage: Garage) -> None:
    link = garage.link("The forum", scope="show")
    shown = garage.helper.get_json(link)["photos"]
    assert shown
    assert {one["original"] for one in shown} == {None}
    assert "original" not in garage.helper.get(link).text
    assert garage.helper.get(f"{link}/photos/1").status_code == 200
    assert garage.helper.get(f"{link}/photos/1/original").status_code == 404
