"""Which piece of a design a photo shows."""

from collections.abc import Mapping, Sequence

from server.web.fields import Fields


def shown_piece(typed: Mapping[str, str], piece_ids: Sequence[int]) -> int | None:
    """None where it shows the design as a whole. Raises BadInput."""
    fields = Fields(typed)
    piece_id = fields.row_id("shows", "It shows", piece_ids)
    fields.done()
    return piece_id
