"""When the builder is in the garage, the Saturday on which the fabricator comes, and who comes later."""

from seed_demo.hand import Hand, typed
from server.features.stints import service as stints

EVENINGS = ("Tuesday", "Thursday")


def tell(hand: Hand) -> None:
    """Two evenings and the Saturday of a week; one evening off before the visit."""
    for weekday in EVENINGS:
        _stint(hand, kind="weekly", weekday=weekday, begins="19:00", ends="22:00")
    _stint(hand, kind="weekly", weekday="Saturday", begins="09:00", ends="17:00")
    _stint(hand, kind="off", day=hand.day(hand.visit_in + 10), note="School concert")
    garage = typed(version="0", zone="Europe/Paris", noise_from="08:00", noise_to="21:00")
    garage |= typed(quiet_sundays="on", raising="35 min", lowering="25 min")
    stints.edit_garage_time(hand.session, hand.build_id, garage)
    fabricator = typed(name="The fabricator", skills="welds aluminium and stainless", contact="by telephone")
    number = stints.add_helper(hand.session, hand.build_id, fabricator)
    visit = typed(helper_id=str(number), day=hand.day(hand.visit_in), begins="09:00", ends="15:00")
    visit |= typed(cancel_by=hand.day(hand.visit_in - 3), note="Brings the machine; gas is ours to have")
    stints.add_visit(hand.session, hand.build_id, visit)
    for weeks in (2, 4, 6):
        again = typed(helper_id=str(number), day=hand.day(hand.visit_in + 7 * weeks), begins="09:00")
        again |= typed(ends="17:00", note="Only if the first day is not enough")
        stints.add_visit(hand.session, hand.build_id, again)
    calibrator = typed(name="The calibrator", skills="calibrates engine control units")
    friend = typed(name="The neighbour", skills="", note="Two hands; likes engines that start")
    numbers = [stints.add_helper(hand.session, hand.build_id, one) for one in (calibrator, friend)]
    for number, later in ((numbers[0], (4, 6, 8, 10)), (numbers[1], (2, 4, 6, 8, 10))):
        for week in later:
            day = hand.day(hand.visit_in + 7 * week)
            fields = typed(helper_id=str(number), day=day, begins="10:00", ends="16:00")
            stints.add_visit(hand.session, hand.build_id, fields)


def _stint(hand: Hand, **fields: str) -> None:
    stints.add_stint(hand.session, hand.build_id, fields)
