"""The request headers of htmx, read in this one place."""

from dataclasses import dataclass

from starlette.requests import Request


@dataclass(frozen=True, slots=True)
class HtmxAsk:
    """What htmx asks for: nothing when a browser navigates by itself."""

    target: str | None

    @classmethod
    def of(cls, request: Request) -> "HtmxAsk":
        """Boosted links and history restores want the whole page, like a plain request."""
        headers = request.headers
        plain = (
            headers.get("hx-request") != "true"
            or headers.get("hx-boosted") == "true"
            or headers.get("hx-history-restore-request") == "true"
        )
        return cls(None if plain else headers.get("hx-target"))
