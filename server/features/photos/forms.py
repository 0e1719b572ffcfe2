"""What is typed about a photo that stands."""

from collections.abc import Mapping

from server.web.fields import one_of_two


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether a photo is to be set aside (`withdrawn`) or put back (`standing`). Raises BadInput."""
    return one_of_two(typed, "to", "The photo", ("withdrawn", "standing"), usual="withdrawn")
