"""What the builder types for a helper's link."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.features.builders.service import LONGEST_NAME
from server.features.links.page import WHOLE
from server.features.sharing.page import USUAL_DAYS, Scope
from server.features.sharing.service import MOST_DAYS
from server.web.fields import Fields


@dataclass(frozen=True, slots=True)
class LinkForm:
    """visit_id: none for the whole build."""

    name: str
    scope: Scope
    visit_id: int | None
    days: int


def link_form(typed: Mapping[str, str], visit_ids: Sequence[int]) -> LinkForm:
    """`visit_ids`: the visits of the build that still stand. Raises BadInput."""
    fields = Fields(typed)
    name = fields.text("name", "Who the link is for", most=LONGEST_NAME, required=True)
    scope = fields.choice("scope", "What they may do", [one.value for one in Scope], default=Scope.WORK.value)
    is_for = fields.choice("for", "What it is for", [WHOLE, *map(str, visit_ids)], default=WHOLE)
    days = fields.whole("days", "How long it can be used", least=1, most=MOST_DAYS)
    fields.done()
    return LinkForm(name, Scope(scope), None if is_for == WHOLE else int(is_for), days or USUAL_DAYS)
