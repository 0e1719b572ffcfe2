"""Reads a calendar file line by line, as strictly as RFC 5545 lets one write it."""

import re
from dataclasses import dataclass

LINE = re.compile(r'([A-Z][A-Z0-9-]*)((?:;[A-Z0-9-]+=(?:"[^"]*"|[^";:,]*))*):(.*)', re.DOTALL)
LONGEST = 75
"""Octets of a line without its end, RFC 5545, 3.1."""
ESCAPES = {"\\n": "\n", "\\N": "\n", "\\,": ",", "\\;": ";", "\\\\": "\\"}
CALENDAR_ONCE = {"PRODID", "VERSION"}
EVENT_ONCE = {"UID", "DTSTAMP", "DTSTART"}


@dataclass(frozen=True)
class Property:
    """One property. parameters: with their semicolons, as they stand."""

    parameters: str
    value: str

    @property
    def text(self) -> str:
        """The value of a text without its escapes. RFC 5545, 3.3.11."""
        assert not re.search(r"(?<!\\)(?:\\\\)*[,;]", self.value), f"not escaped: {self.value!r}"
        return re.sub(r"\\(?:.|$)", lambda found: ESCAPES[found[0]], self.value)


Properties = dict[str, Property]


def read(content: bytes) -> tuple[Properties, list[Properties]]:
    """The calendar's own properties, and those of each event."""
    assert content.endswith(b"\r\n")
    physical = content[:-2].split(b"\r\n")
    for line in physical:
        assert b"\r" not in line, line
        assert b"\n" not in line, line
        assert len(line) <= LONGEST, line
    lines = [_parsed(line) for line in b"\r\n".join(physical).replace(b"\r\n ", b"").split(b"\r\n")]
    assert lines[0] == ("BEGIN", Property("", "VCALENDAR"))
    assert lines[-1] == ("END", Property("", "VCALENDAR"))
    own: Properties = {}
    events: list[Properties] = []
    inside: Properties | None = None
    for name, found in lines[1:-1]:
        if name == "BEGIN":
            assert found.value == "VEVENT"
            assert inside is None
            inside = {}
        elif name == "END":
            assert found.value == "VEVENT"
            assert inside is not None
            assert inside.keys() >= EVENT_ONCE
            events, inside = [*events, inside], None
        else:
            into = own if inside is None else inside
            assert name not in into, f"{name} twice"
            into[name] = found
    assert inside is None
    assert own.keys() >= CALENDAR_ONCE
    assert events, "RFC 5545, 3.6: one component at least"
    return own, events


def _parsed(line: bytes) -> tuple[str, Property]:
    """Whole letters only: a fold may stand between the octets of one. RFC 5545, 3.1."""
    text = line.decode("utf-8")
    assert not re.search(r"[\x00-\x08\x0a-\x1f\x7f]", text), text
    found = LINE.fullmatch(text)
    assert found, text
    return found[1], Property(found[2], found[3])
