"""What is ticked of the starting set, and the answers that decide what is offered ticked."""

from collections.abc import Mapping

from server.core.work.usual.questions import QUESTIONS
from server.core.work.usual.whole import PORTS, SUBSYSTEMS, TASKS
from server.web.fields import Fields

KINDS = tuple(group.kind for group in SUBSYSTEMS)
SUITS = "suits_"
"""Before a question's name: the field with the answer that the ticks were made for."""


def answers(typed: Mapping[str, str]) -> dict[str, str]:
    """Each question's answer; the first one where none, or none that is offered, was given."""
    found = {}
    for question in QUESTIONS:
        values = [answer.value for answer in question.answers]
        given = typed.get(question.name, "")
        found[question.name] = given if given in values else values[0]
    return found


def suited(typed: Mapping[str, str]) -> dict[str, str]:
    """The answers that the ticks of the form were made for; the given ones where it does not say."""
    return answers({one.name: typed.get(SUITS + one.name, typed.get(one.name, "")) for one in QUESTIONS})


def kind_asked(typed: Mapping[str, str]) -> str:
    """The one kind of subsystem that is asked for; empty for all."""
    return typed.get("of", "") if typed.get("of", "") in KINDS else ""


def ticked(typed: Mapping[str, str]) -> frozenset[str]:
    """Codes of the ports and tasks, and kinds of the subsystems, that are ticked. Raises BadInput."""
    fields = Fields(typed)
    found = frozenset(code for code in (*KINDS, *PORTS, *TASKS) if fields.flag(code))
    if not found:
        fields.refuse("ticked", "Nothing is ticked.", "at least one line; or start empty")
    fields.done()
    return found
