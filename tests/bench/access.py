"""`python -m tests.bench.access`: every page of the demo and of two links, looked at closely in every light,
with bare hands and in gloves, walked with the Tab key; half an hour of a processor.

`python -m tests.bench.access /builds/1/log` looks at these pages alone; `door` names those of the sign-in.
"""

import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import sync_playwright

from server.app import create_app
from server.settings import settings_for
from tests.access import EXCEPTIONS, QUESTIONS, Looked, listed, look_closely, phone_in
from tests.access_door import look_at_the_door
from tests.access_pages import by_links, every_page
from tests.bad_line import make_certificate
from tests.conftest import TEN_IN_THE_MORNING
from tests.factories import load_demo
from tests.far_garage import arguments, chromium_program
from tests.live import served

DOOR = "door"


def told(pages: Sequence[Looked]) -> int:
    """Print what was found; how many faults."""
    for question in QUESTIONS:
        faults = listed(pages, question)
        print(f"{question}: {len(faults.splitlines())} faults\n{faults}")
    at_the_car = sum(page.at_the_car for page in pages)
    print(f"{len(pages)} pages, {at_the_car} of them used at the car")
    print(f"{sum(page.targets for page in pages)} targets measured with bare hands and in gloves; excepted:")
    excepted = sum((Counter(page.excepted) for page in pages), Counter[str]())
    for name, number in excepted.most_common():
        print(f"  {number} {name}: {EXCEPTIONS.get(name, 'links in running text (WCAG 2.5.8)')}")
    return sum(len(found) for page in pages for found in page.faults.values())


def main(named: Sequence[str]) -> int:
    """Look at the pages that are named, or at all; 1 where a fault was found."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        certificate = make_certificate(Path(folder))
        mine = settings_for(data=Path(folder) / "data", environment={})
        load_demo(mine, lambda: TEN_IN_THE_MORNING)
        app = create_app(mine, lambda: TEN_IN_THE_MORNING)
        chromium = playwright.chromium.launch(
            executable_path=chromium_program(playwright), args=arguments(certificate)
        )
        with served(app) as address, phone_in(chromium, address) as page:
            inside = [one for one in named if one != DOOR]
            addresses = by_links(app, inside) if named else every_page(app)
            pages = [look_closely(page, one) for one in addresses]
        if not named or DOOR in named:
            pages += look_at_the_door(chromium, Path(folder), certificate)
        chromium.close()
        app.state.engine.dispose()
    return min(told(pages), 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
