"""The demo: an invented saloon in the middle of its build.

Every row is typed through the forms and services that the pages use, in one write session and in a fixed
order. All dates hang on the day of the clock, so that a fixed clock gives the same rows. Nothing in it is
real.
"""

from collections.abc import Callable
from datetime import datetime, timedelta

from sqlalchemy import Engine
from sqlmodel import Session

from seed_demo import (
    coolant,
    diary,
    engine_sheet,
    fitted,
    garage_time,
    intake,
    lines,
    offers,
    orders_placed,
    part_list,
    pictures,
    pipes,
    places,
    ports,
    shelf,
    work,
)
from seed_demo.hand import Hand
from server.db import write_session
from server.features.planning import service as planning
from server.settings import Settings

SEEN_BEFORE = (timedelta(days=8), timedelta())
"""How long ago somebody looked at the plan, so that it has a date of last week to tell."""


def load(engine: Engine, settings: Settings, clock: Callable[[], datetime]) -> int:
    """Type the demo into a migrated database; the number of its build.

    The settings are of the server that it is loaded for; its folder of photos gets the demo's drawings.
    """
    with write_session(engine) as session:
        hand = Hand(session, clock(), settings.photos)
        engine_sheet.fill_in(hand)
        ports.measure(hand)
        places.find(hand)
        part_list.list_parts(hand)
        offers.ask(hand, part_list.PARTS)
        orders_placed.buy(hand)
        shelf.fill(hand)
        work.plan(hand)
        garage_time.tell(hand)
        pipes.draw(hand)
        intake.draw(hand)
        coolant.draw(hand)
        fitted.type_in(hand)
        lines.write_down(hand)
        diary.write(hand)
        pictures.pin_up(hand)
        hand.written()
    with Session(engine) as session:
        for ago in SEEN_BEFORE:
            planning.shown_and_noted(engine, session, hand.build_id, hand.now - ago)
    return hand.build_id
