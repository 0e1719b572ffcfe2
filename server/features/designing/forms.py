"""What the builder types about designs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.web.fields import Fields


@dataclass(frozen=True, slots=True)
class DesignForm:
    name: str
    start_port_id: int | None
    end_port_id: int | None
    meter_rescaled: bool
    pattern: bool
    start_from: int | None


def design_form(
    typed: Mapping[str, str], ports: Sequence[int], designs: Sequence[int] = (), *, chosen: bool = False
) -> DesignForm:
    """Raises BadInput. `ports`: numbers of the ports that may be run ends; `designs`: of those that a new one
    may start from; `chosen`: it is the one that will be built.
    """
    fields = Fields(typed)
    form = DesignForm(
        name=fields.text("name", "Name", most=80, required=True),
        start_port_id=fields.row_id("start_port_id", "From", ports),
        end_port_id=fields.row_id("end_port_id", "To", ports),
        meter_rescaled=fields.flag("meter_rescaled"),
        pattern=fields.flag("pattern"),
        start_from=fields.row_id("start_from", "Start from", designs),
    )
    if form.pattern and chosen:
        fields.refuse(
            "pattern", "This design is chosen to be built.", "an old part only once it is no longer chosen"
        )
    if form.start_port_id is not None and form.start_port_id == form.end_port_id:
        fields.refuse("end_port_id", "A run can't end at the port where it starts.", "another port")
    fields.done()
    return form


@dataclass(frozen=True, slots=True)
class ReasonForm:
    rule: str
    reason: str


def concession_form(typed: Mapping[str, str], rules: Sequence[str]) -> ReasonForm:
    """Raises BadInput. `rules`: codes of those that may be conceded."""
    fields = Fields(typed)
    form = ReasonForm(
        rule=fields.choice("rule", "Check", rules),
        reason=fields.text("reason", "Reason", most=300, required=True),
    )
    fields.done()
    return form


def choice_reason(typed: Mapping[str, str], no_go: Sequence[str] = ()) -> str:
    """Why a design is chosen; `no_go`: titles of its open no-go checks, to be known. Raises BadInput."""
    fields = Fields(typed)
    reason = fields.text("because", "Reason", most=300)
    if no_go and not fields.flag("no_go_known"):
        more = f" and {len(no_go) - 1} more" if len(no_go) > 1 else ""
        fields.refuse("no_go_known", f"It is no-go: {no_go[0]}{more}.", "this tick, or another design")
    fields.done()
    return reason


def withdrawal_reason(typed: Mapping[str, str]) -> str:
    """Why a design is no longer chosen. Raises BadInput."""
    fields = Fields(typed)
    reason = fields.text("because", "Reason", most=300, required=True)
    fields.done()
    return reason


def copy_name(typed: Mapping[str, str], copied: str) -> str:
    """The name of a copy; `copied`: that of what it is a copy of. Raises BadInput."""
    fields = Fields(typed)
    name = fields.text("copy_name", "Name", most=80)
    fields.done()
    return name or f"{copied}, a copy"[:80]
