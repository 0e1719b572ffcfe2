"""The phones that the tests use one after the other."""

from playwright.sync_api import BrowserContext

from tests.browser.conftest import emptied

LEAVE = """() => new Promise((done) => {
  document.cookie = "left=here; max-age=60";
  localStorage.setItem("left", "here");
  indexedDB.open("left").onsuccess = (opened) => { opened.target.result.close(); done(); };
})"""
FIND = "async () => [document.cookie, localStorage.length, (await indexedDB.databases()).length]"


def test_nothing_is_left_on_a_phone_for_the_next_test(
    first_phone: BrowserContext, address_of_the_stand: str
) -> None:
    with emptied(first_phone, address_of_the_stand) as page:
        page.goto("/")
        page.evaluate(LEAVE)
        assert page.evaluate(FIND) == ["left=here", 1, 1]
    with emptied(first_phone, address_of_the_stand) as page:
        page.goto("/")
        assert page.evaluate(FIND) == ["", 0, 0]
