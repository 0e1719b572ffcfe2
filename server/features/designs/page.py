"""What was conceded and chosen, in words."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from server.core.checks.register import RULES
from server.web import urls
from server.web.view import Happening
from server.web.words import day_text

if TYPE_CHECKING:
    from server.features.designs.store import ConcededOn
    from server.features.designs.tables import Concession, Design
    from server.features.figures.page import Conceded


def signed_by(concession: "Concession | Conceded") -> str:
    """Who conceded it and when, e.g. "builder, Sat 21 Nov"."""
    day = day_text(concession.at.date())
    return f"{concession.by}, {day}" if concession.by else day


def happenings(
    build_id: int, conceded: Iterable["ConcededOn"], designs: Iterable["Design"]
) -> tuple[Happening, ...]:
    """What was conceded, chosen, no longer chosen and set aside, for the log."""
    titles = {rule.code: rule.title for rule in RULES}
    told = [
        Happening(
            one.at,
            f"Conceded on {one.name}: {titles.get(one.rule, one.rule)}. {one.reason}",
            urls.subsystem(build_id, one.subsystem_id)
            if one.design_id is None
            else urls.design(build_id, one.design_id),
            one.by,
        )
        for one in conceded
    ]
    for design in designs:
        href = urls.design(build_id, design.key)
        if design.chosen_at is not None:
            word = "Chosen" if design.chosen else "No longer chosen"
            because = f". {design.chosen_because}" if design.chosen_because else ""
            told.append(Happening(design.chosen_at, f"{word}: {design.name}{because}", href))
        if design.removed_at is not None:
            told.append(Happening(design.removed_at, f"Set aside: {design.name}", href))
    return tuple(told)
