"""What a thumb does on a phone in the garage, and how its outbox is read."""

import io
import time

from PIL import Image
from playwright.sync_api import BrowserContext, FilePayload, Locator, Page


def a_photo() -> FilePayload:
    written = io.BytesIO()
    Image.effect_noise((1900, 40), 60).save(written, "JPEG")
    return {"name": "outlet.jpg", "mimeType": "image/jpeg", "buffer": written.getvalue()}


def note_reading(page: Page, text: str) -> None:
    page.locator("#reading-form [name=reading]").fill(text)
    page.locator("#save-reading").click()


def note_photo(page: Page) -> None:
    page.locator("#new-photo > summary").click()
    page.locator("#photo-file").set_input_files(a_photo())
    page.locator("#save-photo").click()


def tick(page: Page, title: str) -> None:
    page.get_by_role("button", name=f"Done: {title}", exact=True).click()


def waiting(page: Page) -> Locator:
    return page.locator("#to-send")


STORED = """() => new Promise((done, failed) => {
  const asked = indexedDB.open("witness-mark", 1);
  asked.onerror = () => failed(asked.error);
  asked.onsuccess = () => {
    const count = asked.result.transaction("acts").objectStore("acts").count();
    count.onsuccess = () => { asked.result.close(); done(count.result); };
  };
})"""
"""How many acts the phone has stored: a page that was just opened may not tell them yet."""


KEPT = """() => caches.keys().then((names) => Promise.all(names.map(async (name) => {
  const cache = await caches.open(name);
  return (await cache.keys()).map((asked) => new URL(asked.url).pathname);
}))).then((all) => all.flat())"""
"""What the worker keeps, over HTTPS."""


def wait_until_kept(page: Page, *addresses: str) -> None:
    """The worker has fetched these to be read without signal; it takes its time."""
    end = time.monotonic() + 120
    while not set(addresses) <= set(page.evaluate(KEPT)):
        assert time.monotonic() < end, f"kept: {page.evaluate(KEPT)}"
        page.wait_for_timeout(50)


def signal_back(*pages: Page, within: float = 30.0) -> None:
    """The phone notices its signal again and again until nothing waits. within: [s]."""
    end = time.monotonic() + within
    while time.monotonic() < end:
        for page in pages:
            page.evaluate("dispatchEvent(new Event('online'))")
        pages[0].wait_for_timeout(100)
        if pages[0].evaluate(STORED) == 0:
            return
    raise AssertionError(f"still: {waiting(pages[0]).inner_text()}")


def open_both(context: BrowserContext, port: str, work: str) -> tuple[Page, Page]:
    """The sheet of the port and the list of work, in two tabs."""
    while len(context.pages) < 2:
        context.new_page()
    first, second = context.pages[:2]
    first.goto(port)
    second.goto(work)
    return first, second
