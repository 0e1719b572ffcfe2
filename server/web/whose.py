"""Whose builds somebody who asks may see."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request


@dataclass(frozen=True, slots=True)
class Whose:
    """A builder on this server. builder_id: none for who owns the server."""

    builder_id: int | None = None


OWNER = Whose()


async def _whose(request: Request) -> Whose | None:
    whose: Whose | None = getattr(request.state, "whose", None)
    return whose


Asking = Annotated[Whose | None, Depends(_whose)]
"""Who is signed in; None on the machine itself, where every build is seen."""
