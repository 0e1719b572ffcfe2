"""A pattern as DXF in millimetres, for a cutter: what is cut on one layer, marks on another."""

import io

from ezdxf import units
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from server.core.tube.cutting.pattern import Flat, Layer, Line, Note, Pattern, Ring
from server.web.pattern_scale import scale_lines, scale_notes

SCALE = "SCALE"
"""The layer of the bars that tell whether it came out at full size."""
COLOURS = {Layer.CUT.value: 7, Layer.MARK.value: 8, SCALE: 8}
"""Of the usual colour index: black or white, and grey."""
TOLD_SIZE, TOLD_LEADING, TOLD_BELOW = 3.0, 4.5, 22.0
ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}


def pattern_dxf(pattern: Pattern) -> bytes:
    """The pattern as a DXF file of release 2010, a unit a millimetre."""
    document = new("R2010", setup=False, units=units.MM)
    document.header["$MEASUREMENT"] = 1
    for name, colour in COLOURS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()
    for line in pattern.lines:
        _line(space, line, line.layer.value)
    for ring in pattern.rings:
        _ring(space, ring)
    left, bottom, _, _ = (edge * 1e3 for edge in pattern.box)
    for line in scale_lines(left, bottom):
        _line(space, line, SCALE)
    for note in (*pattern.notes, *scale_notes(left, bottom)):
        _note(space, note)
    for row, text in enumerate((pattern.title, *pattern.told)):
        _text(space, text, (left, bottom - TOLD_BELOW - row * TOLD_LEADING), TOLD_SIZE)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _line(space: Modelspace, line: Line, layer: str) -> None:
    points = [_mm(point) for point in line.points]
    space.add_lwpolyline(points, close=line.closed, dxfattribs={"layer": layer})


def _ring(space: Modelspace, ring: Ring) -> None:
    space.add_circle(_mm(ring.centre), ring.radius * 1e3, dxfattribs={"layer": ring.layer.value})


def _note(space: Modelspace, note: Note) -> None:
    _text(space, note.text, _mm(note.at), note.size * 1e3, note.anchor, 0.0 if note.upright else 90.0)


def _text(
    space: Modelspace, text: str, at: Flat, size: float, anchor: str = "start", turn: float = 0.0
) -> None:
    attributes = {"layer": Layer.MARK.value}
    found = space.add_text(text, height=size, rotation=turn, dxfattribs=attributes)
    found.set_placement(at, align=ALIGN[anchor])


def _mm(point: Flat) -> Flat:
    return point[0] * 1e3, point[1] * 1e3
