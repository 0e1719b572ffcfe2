"""Where the ports of three runs are and which way they face, and what stands in the way of a pipe."""

from seed_demo.hand import Hand, typed
from server.features.keepouts import service as keepouts
from server.features.placing import service as placing

TAPE, RULE = "tape", "rule"


def find(hand: Hand) -> None:
    """One evening with tape and gauge, the car on stands: the datum first, what is in the way last."""
    datum = typed(words="Top of the front crossmember, in the middle between the strut towers")
    placing.say_datum(hand.session, hand.build_id, datum)
    _intake(hand)
    _charge_pipe(hand)
    _downpipe(hand)
    _in_the_way(hand)


def _intake(hand: Hand) -> None:
    _offsets(hand, "Air meter outlet", "550", "-0.8 in", "385")
    _read(hand, "Air meter outlet", way="words", level="left", tilt="level")
    _offsets(
        hand, "Compressor inlet", "120", "300", "380 ± 3 mm", note="The first time 370: the tape sagged."
    )
    _read(hand, "Compressor inlet", way="gauge", heading="4", dip="-2")


def _charge_pipe(hand: Hand) -> None:
    beside = str(hand.ports["Compressor inlet"])
    step = typed(forward="-70", left="60", up="-85", instrument=RULE)
    _read(hand, "Compressor outlet", way="beside", beside=beside, **step)
    _read(hand, "Compressor outlet", way="gauge", heading="-90", dip="40")
    _offsets(hand, "Cooler inlet", "21 3/4 in", "162", "130")
    _read(hand, "Cooler inlet", way="words", level="rearward", tilt="level")


def _downpipe(hand: Hand) -> None:
    """The turbine's outlet is hidden from the datum: three tapes, from the towers and the bulkhead."""
    tapes = {"tape1": "422", "tape2": "685", "tape3": "454"}
    hooks = {"hook1": "typed", "hook1_at": "60 560 560", "hook2": "typed", "hook2_at": "-560 -120 640"}
    hooks |= {"hook3": "typed", "hook3_at": "-450 480 540"}
    _read(hand, "Turbine outlet", way="tapes", side="first", instrument="tape_hooked", **tapes, **hooks)
    _read(hand, "Turbine outlet", way="gauge", heading="180", dip="45")
    _offsets(hand, "Centre pipe flange", "-950", "120", "-220")
    _read(hand, "Centre pipe flange", way="words", level="forward", tilt="level")


def _offsets(hand: Hand, port: str, forward: str, left: str, up: str, note: str = "") -> None:
    _read(hand, port, way="offsets", forward=forward, left=left, up=up, instrument=TAPE, pose_note=note)


def _read(hand: Hand, port: str, **fields: str) -> None:
    number = hand.ports[port]
    placing.add_reading(hand.session, hand.build_id, number, fields, hand.moment(-6), "builder")


def _in_the_way(hand: Hand) -> None:
    bar, still = typed(shape="capsule"), typed(gap="15")
    servo = typed(what="brake servo hose", at="-350 450 480", to="-50 100 520", across="18")
    slave = typed(what="clutch line", name="Clutch slave line", across="6")
    slave |= typed(at="-300 440 420", to="-500 380 100")
    shaft = typed(what="steering shaft or rack", name="Steering shaft", across="22", gap="25", moves="4")
    shaft |= typed(at="-550 470 350", to="-100 430 20", note="Its joint swings by 4 mm at full lock.")
    starter = typed(what="starter motor", at="-320 140 -20", to="-500 140 -20", across="80")
    housing = typed(shape="box", what="something else", name="Bell housing", frame="engine")
    housing |= typed(at="-420 0 50", long="250", wide="260", high="350")
    for fields in (
        bar | still | servo,
        bar | still | slave,
        bar | shaft,
        bar | still | starter,
        still | housing,
    ):
        keepouts.add_keep_out(hand.session, hand.build_id, fields)
