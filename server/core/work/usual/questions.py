"""The questions that decide what of the usual set is offered ticked."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Answer:
    """value: as a form sends it; facts: what then holds of the car."""

    value: str
    text: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """The first answer counts where none was given."""

    name: str
    text: str
    answers: tuple[Answer, ...]


QUESTIONS = (
    Question(
        "cooled",
        "The turbo is cooled by",
        (Answer("water", "Oil and water", ("water",)), Answer("oil", "Oil alone", ())),
    ),
    Question(
        "gate",
        "The wastegate sits",
        (
            Answer("inside", "In the turbine housing", ("gate inside",)),
            Answer("outside", "On its own flange, outside", ("gate outside",)),
        ),
    ),
    Question(
        "valve",
        "The bypass valve blows",
        (
            Answer("intake", "Back to the intake", ("valve", "valve to intake")),
            Answer("open", "To the open", ("valve", "valve open")),
            Answer("none", "There is none", ()),
        ),
    ),
    Question(
        "bearing",
        "The turbo's bearing",
        (
            Answer("journal", "Journal (plain)", ("journal bearing",)),
            Answer("ball", "Ball", ("ball bearing",)),
        ),
    ),
    Question(
        "gearbox",
        "The gearbox",
        (
            Answer("clutch", "With a clutch pedal", ("clutch",)),
            Answer("automatic", "Automatic", ("automatic",)),
        ),
    ),
)

_METER_FACTS = {
    "before compressor": ("meter", "meter ahead"),
    "after compressor": ("meter", "no meter ahead"),
    "none": ("no meter", "no meter ahead"),
}


def facts_of(answers: Mapping[str, str], meter_place: str) -> frozenset[str]:
    """What holds of the car. meter_place: where it counts its air, as the build says."""
    found = set(_METER_FACTS[meter_place])
    for question in QUESTIONS:
        given = answers.get(question.name)
        chosen = next((one for one in question.answers if one.value == given), question.answers[0])
        found.update(chosen.facts)
    return frozenset(found)
