"""What is typed about a photo that stands."""

from collections.abc import Mapping

from server.web.fields import Fields


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether a photo is to be set aside (`withdrawn`) or put back (`standing`). Raises BadInput."""
    fields = Fields(typed)
    wish = fields.choice("to", "The photo", ("withdrawn", "standing"), default="withdrawn")
    fields.done()
    return wish == "withdrawn"
