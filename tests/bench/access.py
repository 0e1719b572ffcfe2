"""`python -m tests.bench.access`: every page of the demo and of two links, looked at closely in every light,
with bare hands and in gloves, walked with the Tab key; a quarter of an hour.
"""

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from server.app import create_app
from server.settings import settings_for
from tests.access import QUESTIONS, listed, look_closely, phone_in
from tests.access_pages import every_page
from tests.conftest import TEN_IN_THE_MORNING
from tests.factories import load_demo
from tests.far_garage import QUIET, chromium_program
from tests.live import served


def main() -> int:
    """The number of faults; each is printed."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        mine = settings_for(data=Path(folder) / "data", environment={})
        load_demo(mine, lambda: TEN_IN_THE_MORNING)
        app = create_app(mine, lambda: TEN_IN_THE_MORNING)
        chromium = playwright.chromium.launch(executable_path=chromium_program(playwright), args=QUIET)
        with served(app) as address, phone_in(chromium, address) as page:
            pages = [look_closely(page, one) for one in every_page(app)]
        chromium.close()
        app.state.engine.dispose()
    for question in QUESTIONS:
        faults = listed(pages, question)
        print(f"{question}: {len(faults.splitlines())} faults on {len(pages)} pages")
        print(faults)
    return sum(len(found) for page in pages for found in page.faults.values())


if __name__ == "__main__":
    sys.exit(min(main(), 1))
