"""How one phone wants its pages: for the sun, for the night, for thick gloves. Kept in a cookie of its own.

Nothing secret is in it, and scripts do not need it. What can't be read counts as nothing said.
"""

from collections.abc import Mapping
from dataclasses import dataclass

COOKIE = "look"
LIGHTS = ("as the phone", "sun", "night")
GLOVES = "gloves"


@dataclass(frozen=True, slots=True)
class Look:
    """light: one of `LIGHTS`; gloves: larger keys further apart."""

    light: str = LIGHTS[0]
    gloves: bool = False

    @property
    def classes(self) -> str:
        """As the page's root element has it, and as the cookie keeps it."""
        words = [self.light] if self.light != LIGHTS[0] else []
        return " ".join([*words, GLOVES] if self.gloves else words)


def look_of(cookies: Mapping[str, str]) -> Look:
    """What this browser asked for."""
    words = cookies.get(COOKIE, "").strip('"').split()
    light = next((word for word in words if word in LIGHTS[1:]), LIGHTS[0])
    return Look(light, GLOVES in words)
