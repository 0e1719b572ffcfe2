"""Pages about builds, and the title block that every sheet of a build carries."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Protocol, TypedDict

from server.core.units import System
from server.errors import Refused
from server.web import urls
from server.web.view import FormState, NavLink, Page, TitleBlock

LABELS = {
    "name": "Name",
    "car": "The car",
    "system": "Units",
    "currency": "Currency",
    "meter_place": "Air meter",
    "car_state": "The car stands",
    "stage": "Stage",
    "budget": "Budget",
    "week": "What a week's wait is worth",
}
SUBSYSTEM_LABELS = {"name": "Name", "kind": "What it is"}


class Face(Protocol):
    """What a page needs to know of a build."""

    @property
    def id(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def name(self) -> str: ...
    @property
    def car(self) -> str: ...
    @property
    def system(self) -> System: ...
    @property
    def currency(self) -> str: ...
    @property
    def meter_place(self) -> str: ...
    @property
    def car_state(self) -> str: ...
    @property
    def stage(self) -> str: ...
    @property
    def budget_minor(self) -> int | None: ...
    @property
    def week_minor(self) -> int | None: ...


class Heading(TypedDict):
    """The parts of a page that every sheet of a build shares: `SomePage(**heading(...), ...)`."""

    title: TitleBlock
    sheets: tuple[NavLink, ...]


SHEETS = (
    ("Garage", urls.garage),
    ("Engine", urls.engine),
    ("Ports", urls.ports),
    ("Measure next", urls.measuring),
    ("Subsystems", urls.subsystems),
    ("Lines", urls.ledger.lines),
    ("Parts", urls.parts),
    ("Shelf", urls.shelf),
    ("Shopping", urls.shopping),
    ("Orders", urls.orders),
    ("Work", urls.work),
    ("First start", urls.first_start.gate),
    ("Log", urls.log),
    ("Build", urls.build),
)


def heading(build: Face, sheet: str, today: date, *, within: str = "", note: str = "") -> Heading:
    """Title block and list of sheets. `within` names the listed sheet that a deeper page belongs to."""
    here = within or sheet
    links = tuple(NavLink(address(build.id), text, text == here) for text, address in SHEETS)
    shared = (
        NavLink(urls.handbook(), "Handbook", here == "Handbook"),
        NavLink(urls.sums(), "Bench sums", here == "Bench sums"),
        NavLink(urls.builds(), "All builds", here == "All builds"),
        NavLink(urls.this_phone(), "This phone"),
    )
    return Heading(
        title=TitleBlock(build.name, sheet, today, build.stage, note or build.car_state),
        sheets=links + shared,
    )


def heading_without_build(sheet: str, today: date) -> Heading:
    """For pages that belong to no build."""
    return Heading(
        title=TitleBlock("Witness Mark", sheet, today),
        sheets=(
            NavLink(urls.builds(), "All builds", sheet == "All builds"),
            NavLink(urls.handbook(), "Handbook", sheet == "Handbook"),
            NavLink(urls.sums(), "Bench sums", sheet == "Bench sums"),
            NavLink(urls.this_phone(), "This phone", sheet == "This phone"),
        ),
    )


@dataclass(frozen=True, slots=True)
class BuildLine:
    """One build of the list."""

    href: str
    name: str
    car: str
    stage: str


@dataclass(frozen=True, kw_only=True)
class BuildsPage(Page):
    """Every build, and the forms for a new one and for one that is brought in from a file."""

    template: ClassVar[str] = "builds/list.html"

    builds: tuple[BuildLine, ...]
    signed_in: bool
    """Whether who asks gave a passphrase, so that there is a page for it."""
    form: FormState
    bringing: FormState


@dataclass(frozen=True, kw_only=True)
class BuildPage(Page):
    """One build's own settings."""

    template: ClassVar[str] = "builds/build.html"

    id: int
    version: int
    name: str
    car: str
    system: str
    currency: str
    meter_place: str
    car_state: str
    stage: str
    budget: str
    week: str
    form: FormState


def builds_page(
    builds: Sequence[Face],
    today: date,
    refused: Refused | None,
    bringing: Refused | None,
    *,
    signed_in: bool,
) -> BuildsPage:
    lines = tuple(BuildLine(urls.garage(item.id), item.name, item.car, item.stage) for item in builds)
    return BuildsPage(
        **heading_without_build("All builds", today),
        builds=lines,
        signed_in=signed_in,
        form=FormState.of(refused),
        bringing=FormState.of(bringing),
    )


def build_page(build: Face, today: date, refused: Refused | None) -> BuildPage:
    return BuildPage(
        **heading(build, "Build", today),
        id=build.id,
        version=build.version,
        name=build.name,
        car=build.car,
        system=build.system.value,
        currency=build.currency,
        meter_place=build.meter_place,
        car_state=build.car_state,
        stage=build.stage,
        budget=budget_text(build.budget_minor),
        week=budget_text(build.week_minor),
        form=FormState.of(refused),
    )


def budget_text(minor: int | None) -> str:
    """As a field takes it, e.g. "2400.00"; empty where no budget was set."""
    return "" if minor is None else f"{minor // 100}.{minor % 100:02d}"
