"""What was conceded on figures of what is fitted, as pages show it."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Conceded:
    """What was conceded on the figures of a subsystem."""

    subsystem_id: int
    rule: str
    reason: str
    by: str
    at: datetime
