"""Four small drawings, such as a builder sketches: plain lines, no photographs."""

import io
from collections.abc import Callable

from PIL import Image, ImageDraw, ImageFont

from seed_demo.hand import Hand
from server.features.photos import service as photos

SIZE = (560, 420)
INK = "#1a1a1a"
RED = "#a11d1d"
CARD = "#d9b98a"

Pen = ImageDraw.ImageDraw


def pin_up(hand: Hand) -> None:
    """Every drawing with what it shows."""
    reading = hand.readings["Compressor inlet", "outside_diameter"]
    _pin(hand, ("reading", reading), _caliper, -24, "Jaws behind the bead, 101.6", keep_original=True)
    _pin(hand, ("port", hand.ports["Turbine outlet"]), _gate_flap, -20, "The flap's swing past the face")
    _pin(hand, ("task", hand.tasks["card-downpipe"]), _card, -5, "Card template, fold lines marked")
    _pin(hand, ("log", hand.notes[-4]), _drain_flange, -4, "What came, 44; what was asked, 38")


def _pin(
    hand: Hand,
    subject: tuple[str, int],
    draw: Callable[[Pen], None],
    day: int,
    caption: str,
    *,
    keep_original: bool = False,
) -> None:
    paper = Image.new("RGB", SIZE, "white")
    draw(ImageDraw.Draw(paper))
    written = io.BytesIO()
    paper.save(written, "PNG", compress_level=1)
    photos.store_photo(
        hand.session,
        hand.photos,
        hand.build_id,
        *subject,
        written.getvalue(),
        hand.moment(day, "20:50"),
        "builder",
        caption,
        keep_original=keep_original,
    )


def _words(pen: Pen, at: tuple[int, int], text: str, ink: str = INK) -> None:
    pen.text(at, text, fill=ink, font=ImageFont.load_default(20))


def _caliper(pen: Pen) -> None:
    pen.rectangle((180, 150, 520, 300), outline=INK, width=3)
    pen.rectangle((205, 140, 225, 310), outline=INK, width=3)
    pen.line((180, 225, 520, 225), fill=INK, width=1)
    pen.line((300, 40, 300, 150), fill=RED, width=6)
    pen.line((300, 300, 300, 390), fill=RED, width=6)
    pen.rectangle((60, 40, 300, 70), outline=RED, width=3)
    pen.rectangle((60, 365, 300, 390), outline=RED, width=3)
    pen.line((75, 70, 75, 365), fill=RED, width=6)
    _words(pen, (90, 200), "101.6", RED)
    _words(pen, (330, 250), "compressor inlet")


def _gate_flap(pen: Pen) -> None:
    pen.ellipse((120, 70, 420, 370), outline=INK, width=3)
    pen.ellipse((150, 100, 390, 340), outline=INK, width=3)
    pen.ellipse((300, 230, 360, 290), outline=INK, width=3)
    pen.arc((260, 200, 480, 420), 250, 350, fill=RED, width=4)
    pen.line((330, 260, 470, 260), fill=RED, width=4)
    _words(pen, (425, 310), "opens 60°", RED)
    _words(pen, (20, 20), "turbine outlet, V-band 89, bore 72.5")


def _card(pen: Pen) -> None:
    pen.polygon(
        ((60, 80), (250, 60), (410, 150), (500, 330), (400, 380), (320, 230), (220, 160), (70, 180)), CARD
    )
    pen.line((250, 60, 220, 160), fill=INK, width=2)
    pen.line((410, 150, 320, 230), fill=INK, width=2)
    _words(pen, (90, 115), "V-band")
    _words(pen, (395, 330), "flex")
    _words(pen, (30, 250), "touches slave line here", RED)
    pen.line((235, 245, 290, 200), fill=RED, width=4)


def _drain_flange(pen: Pen) -> None:
    for top, apart, ink, words in ((50, 220, RED, "came: 44"), (230, 190, INK, "asked: 38")):
        middle = 230
        pen.rounded_rectangle((70, top, 390, top + 140), 60, outline=ink, width=3)
        pen.ellipse((middle - 45, top + 25, middle + 45, top + 115), outline=ink, width=3)
        for hole in (middle - apart // 2, middle + apart // 2):
            pen.ellipse((hole - 16, top + 54, hole + 16, top + 86), outline=ink, width=3)
        _words(pen, (410, top + 60), words, ink)
