"""What the builder types about a build."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.tube.run import Place
from server.core.units import System
from server.web.fields import Fields

METER_PLACES = ("before compressor", "after compressor", "none")
CAR_STATES = ("on wheels", "on stands", "engine bay open")
STAGES = ("tear-down", "measuring", "designing", "making", "fitting", "first start", "on the road")
CURRENCIES = ("EUR", "GBP", "USD", "AUD", "CAD", "NZD", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK", "ZAR")
SUBSYSTEM_KINDS = tuple(place.value for place in Place)


@dataclass(frozen=True, slots=True)
class BuildForm:
    name: str
    car: str
    system: System
    currency: str
    meter_place: str
    car_state: str
    stage: str
    budget_minor: int | None = None
    week_minor: int | None = None


def build_form(typed: Mapping[str, str]) -> BuildForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = BuildForm(
        name=fields.text("name", "The build's name", most=80, required=True),
        car=fields.text("car", "The car", most=120),
        system=System(fields.choice("system", "Units", [item.value for item in System], default="metric")),
        currency=fields.choice("currency", "Currency", CURRENCIES, default="EUR"),
        meter_place=fields.choice("meter_place", "Air meter", METER_PLACES, default="before compressor"),
        car_state=fields.choice("car_state", "The car stands", CAR_STATES, default="on wheels"),
        stage=fields.choice("stage", "Stage", STAGES, default="measuring"),
        budget_minor=fields.money("budget", "The budget"),
        week_minor=fields.money("week", "What a week's wait is worth"),
    )
    fields.done()
    return form


@dataclass(frozen=True, slots=True)
class BuildEdit:
    version: int
    form: BuildForm


def build_edit(typed: Mapping[str, str]) -> BuildEdit:
    """Raises MissingVersion, BadInput."""
    version = Fields(typed).version()
    return BuildEdit(version, build_form(typed))


@dataclass(frozen=True, slots=True)
class SubsystemForm:
    name: str
    kind: str


def subsystem_form(typed: Mapping[str, str]) -> SubsystemForm:
    """Raises BadInput."""
    fields = Fields(typed)
    kind = fields.choice("kind", "What it is", SUBSYSTEM_KINDS)
    form = SubsystemForm(name=fields.text("name", "Name", most=80) or kind.capitalize(), kind=kind)
    fields.done()
    return form


@dataclass(frozen=True, slots=True)
class SubsystemEdit:
    version: int
    form: SubsystemForm


def subsystem_edit(typed: Mapping[str, str]) -> SubsystemEdit:
    """Raises MissingVersion, BadInput."""
    version = Fields(typed).version()
    return SubsystemEdit(version, subsystem_form(typed))
