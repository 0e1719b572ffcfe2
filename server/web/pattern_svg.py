"""A pattern as SVG at full size, in millimetres, the words that tell how to use it below."""

from html import escape

from server.core.tube.cutting.pattern import Layer, Line, Note, Pattern, Ring
from server.web.pattern_scale import BELOW, scale_lines, scale_notes

EDGE = 5.0
"""Room left round a pattern [mm]."""
TOLD_SIZE, TOLD_LEADING = 3.2, 4.6
LETTERS_TO_A_SIZE = 0.58
"""Width of a letter over its size, about; words are broken by it [-]."""
LEAST_WIDE = 115.0
"""A pattern's page is at least so wide, so that both scale bars fit [mm]."""
PENS = {
    Layer.CUT: 'stroke="#000" stroke-width=".25"',
    Layer.MARK: 'stroke="#000" stroke-width=".13"',
}
DASHES = ' stroke-dasharray="2 1.2"'


def pattern_svg(pattern: Pattern) -> bytes:
    """The pattern as an SVG file of one millimetre a unit, a group for each layer and one for the scale."""
    left, bottom, right, top = (edge * 1e3 for edge in pattern.box)
    wide = max(right - left, LEAST_WIDE)
    told = [line for text in (pattern.title, *pattern.told) for line in _broken(text, wide)]
    height = top - bottom + BELOW + len(told) * TOLD_LEADING + 2 * EDGE
    page_wide = wide + 2 * EDGE
    body = [_group(layer, pattern) for layer in Layer]
    bars = (_line(line) for line in scale_lines(left, bottom))
    body.append(f'<g id="SCALE" stroke="#000" stroke-width=".25">{"".join(bars)}</g>')
    body.append(_texts((*pattern.notes, *scale_notes(left, bottom))))
    body.append(_told(told, left, bottom - BELOW))
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page_wide:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="{left - EDGE:.3f} {-top - EDGE:.3f} {page_wide:.3f} {height:.3f}" fill="none">'
        f"<title>{escape(pattern.title)}</title>{''.join(body)}</svg>"
    )
    return text.encode()


def _group(layer: Layer, pattern: Pattern) -> str:
    shapes = [_line(line) for line in pattern.lines if line.layer is layer]
    shapes += [_ring(ring) for ring in pattern.rings if ring.layer is layer]
    return f'<g id="{layer.value}" {PENS[layer]}>{"".join(shapes)}</g>'


def _line(line: Line) -> str:
    points = "L".join(f"{x * 1e3:.4f} {-y * 1e3:.4f}" for x, y in line.points)
    return f'<path d="M{points}{"Z" if line.closed else ""}"{DASHES if line.dashed else ""}/>'


def _ring(ring: Ring) -> str:
    (x, y), r = ring.centre, ring.radius
    dashes = DASHES if ring.dashed else ""
    return f'<circle cx="{x * 1e3:.4f}" cy="{-y * 1e3:.4f}" r="{r * 1e3:.4f}"{dashes}/>'


def _texts(notes: tuple[Note, ...]) -> str:
    return f'<g fill="#000" font-family="sans-serif">{"".join(_text(note) for note in notes)}</g>'


def _text(note: Note) -> str:
    x, y = note.at[0] * 1e3, -note.at[1] * 1e3
    turn = "" if note.upright else f' transform="rotate(-90 {x:.3f} {y:.3f})"'
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-size="{note.size * 1e3:.2f}" text-anchor="{note.anchor}"{turn}>'
        f"{escape(note.text)}</text>"
    )


def _told(lines: list[str], left: float, bottom: float) -> str:
    rows = (
        f'<text x="{left:.3f}" y="{-bottom + TOLD_LEADING * (k + 1):.3f}">{escape(line)}</text>'
        for k, line in enumerate(lines)
    )
    return f'<g fill="#000" font-family="sans-serif" font-size="{TOLD_SIZE}">{"".join(rows)}</g>'


def _broken(text: str, wide: float) -> list[str]:
    """The text in lines that are about as wide as there is room for [mm]."""
    most = max(20, int(wide / (TOLD_SIZE * LETTERS_TO_A_SIZE)))
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
