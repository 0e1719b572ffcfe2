"""What is asked for: how long, who is there, how the car stands, what is allowed. All of it is a query."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from server.core.work.tasks import ON_STANDS, ON_WHEELS
from server.features.work.forms import minutes
from server.web.fields import Fields

LONGEST_STINT = 16 * 3600.0
"""[s]"""
ALONE = "alone"
NAMES = ("minutes", "until", "who", "quiet", "wet", "car")


@dataclass(frozen=True, slots=True)
class Asked:
    """A stint that is asked about: from when until when, with whom (a helper's number, or none), and how the
    car stands. ahead: nobody asked for it, it is the next one of the week."""

    start: datetime
    until: datetime
    helper_id: int | None
    quiet: bool
    wet: bool
    car: str
    ahead: bool = False

    @property
    def query(self) -> str:
        """The same as a query that asks for it again; empty where nobody asked."""
        if self.ahead:
            return ""
        told = {"until": self.until.isoformat(timespec="minutes")}
        told |= {"who": str(self.helper_id)} if self.helper_id is not None else {}
        told |= {name: "on" for name in ("quiet", "wet") if getattr(self, name)}
        return urlencode(told | {"car": self.car})


def asked(typed: Mapping[str, str], usual: Asked, helper_ids: Sequence[int], now: datetime) -> Asked:
    """What the form says; `usual` where nothing was asked at all. Raises BadInput."""
    if not any(typed.get(name) for name in NAMES):
        return usual
    fields = Fields(typed)
    lasts = minutes(fields, "minutes", "The time there is", LONGEST_STINT)
    until = usual.until if lasts is None else now + timedelta(minutes=lasts)
    if lasts is None and fields.raw("until"):
        until = _moment(fields) or until
    who = fields.choice("who", "Who is there", (ALONE, *map(str, helper_ids)), default=ALONE)
    car = fields.choice("car", "How the car stands", (ON_WHEELS, ON_STANDS), default=usual.car)
    quiet, wet = fields.flag("quiet"), fields.flag("wet")
    fields.done()
    return Asked(now, until, None if who == ALONE else int(who), quiet, wet, car)


def _moment(fields: Fields) -> datetime | None:
    """Until when, where the form carries it along; it is no field that anybody types in."""
    try:
        found = datetime.fromisoformat(fields.raw("until"))
    except ValueError:
        found = None
    if found is None or found.tzinfo is None or not 1990 <= found.year <= 2100:
        fields.refuse("minutes", "Until when there is time can't be read.", "a time such as 40 min or 2 h")
        return None
    return found
