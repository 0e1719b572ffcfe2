"""What was cut off and kept."""

from seed_demo.hand import Hand
from server.features.shelf import service as shelf
from server.features.shelf.forms import OffCutForm

OFF_CUTS = (
    (
        "Aluminium tube 63.5 × 1.5 mm, 500 mm",
        0.255,
        -14,
        "rest of the throttle tube, one end beaded",
    ),
    ("Heat sleeve 25 mm, 1 m", 0.3, -4, "after the slave line was measured up"),
    ("Aluminium tube 60 × 1.5 mm, 1 m", 0.18, -3, "left over from a friend's build"),
)
"""Part, length [m], day, note."""


def fill(hand: Hand) -> None:
    for part, length, day, note in OFF_CUTS:
        form = OffCutForm(hand.parts[part], length, note)
        shelf.put_off_cut(hand.session, form, hand.moment(day))
