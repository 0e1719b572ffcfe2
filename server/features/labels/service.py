"""Labels for the things of a build: which there are, what each opens, and their sheets."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.errors import BadInput, FieldError
from server.features.builds.service import build_face, subsystem_faces
from server.features.builds.store import BuildFace
from server.features.designs import store as designs
from server.features.labels import forms, page
from server.features.labels.forms import LabelForm
from server.features.labels.page import Chosen, Printed, Thing
from server.features.ledger import store as ledger
from server.features.parts.service import known_parts
from server.features.runs import store as runs
from server.features.work.service import supplies
from server.web import urls
from server.web.handout import File, file_name
from server.web.paper_labels import Label, Stickers, code_side, labels_pdf, least_side, trial_pdf

MOST = 600
"""Labels of one file."""
FIELDS = (*forms.SIZES, "first", "each", "of_lines", "boxes")


@dataclass(frozen=True, slots=True)
class Asked:
    """What an address asks: its pairs as they stand, and the sizes that the browser kept.

    base: the server's address as this browser knows it; hosts: every name under which it answers.
    """

    pairs: Sequence[tuple[str, str]]
    kept: Mapping[str, str]
    base: str
    hosts: Collection[str]

    @property
    def typed(self) -> dict[str, str]:
        """What was typed, what was kept in place of what was not."""
        return {name: text for name, text in self.pairs if name.removeprefix("meant.") in FIELDS}


def labels_page(
    session: Session, build_id: int, asked: Asked, now: datetime, *, only_here: bool
) -> tuple[page.LabelsPage, str]:
    """The page, and what the cookie keeps; nothing new where the form was refused. Raises NotFound."""
    build = build_face(session, build_id)
    things = things_of(session, build, now)
    chosen, stands = forms.chosen(asked.pairs), _stands(build, asked)
    printed, refused, cookie = None, None, ""
    try:
        printed = _printed(build, things, chosen, stands, asked.hosts)
        cookie = forms.as_cookie(stands)
    except BadInput as bad:
        refused = bad
    shown = page.labels_page(
        build, things, chosen, stands, asked.hosts, printed, now.date(), only_here=only_here, refused=refused
    )
    return shown, cookie


def pdf(session: Session, build_id: int, asked: Asked, now: datetime, *, trial: bool) -> File | None:
    """The labels, or their outlines for plain paper; none where nothing is chosen.

    Raises NotFound, BadInput.
    """
    build = build_face(session, build_id)
    things = things_of(session, build, now)
    found = _printed(build, things, forms.chosen(asked.pairs), _stands(build, asked), asked.hosts)
    title = f"Labels, {build.name}"
    if trial:
        name, content = "labels-trial", trial_pdf(found.stickers, title)
    elif found.labels:
        name, content = "labels", labels_pdf(found.labels, found.stickers, title)
    else:
        return None
    return File(file_name(name, build.name, now.date(), "pdf"), content)


def _stands(build: BuildFace, asked: Asked) -> dict[str, str]:
    """Each field's text: typed, else kept, else usual. A kept address that is gone does not count."""
    kept = dict(asked.kept)
    if not any(f"//{host}" in kept.get("address", "") for host in asked.hosts):
        kept.pop("address", None)
    usual = {"first": "1", "each": "1", "of_lines": "2", "boxes": "", "address": asked.base}
    return {**forms.USUAL[build.system], **usual, **kept, **asked.typed}


def _printed(
    build: BuildFace,
    things: Sequence[Thing],
    chosen: Chosen,
    typed: Mapping[str, str],
    hosts: Collection[str],
) -> Printed:
    """Raises BadInput."""
    form = forms.label_form(typed, hosts)
    labels = [label for label in _boxes(build.id, form) for _ in range(form.each)]
    for thing in things:
        if page.is_chosen(thing, chosen):
            times = form.each * (form.of_lines if thing.sort == "line" else 1)
            labels += [_opened_at(form.address, thing.label)] * times
    if len(labels) > MOST:
        raise _refused("each", f"{len(labels)} labels are too many at once.", f"up to {MOST}", typed)
    _check_codes(labels or [_opened_at(form.address, Label("", "", "", "/"))], form.stickers, typed)
    pairs = [(name, typed[name]) for name in FIELDS if name in typed]
    pairs += [(name, text) for name, text in typed.items() if name.startswith("meant.")]
    pairs += chosen.pairs
    return Printed(
        tuple(labels), form.stickers, urls.labels.pdf(build.id, pairs), urls.labels.trial(build.id, pairs)
    )


def _opened_at(address: str, label: Label) -> Label:
    return Label(label.number, label.name, label.about, f"{address}{label.address}")


def _boxes(build_id: int, form: LabelForm) -> list[Label]:
    """A box opens the shelf, looked through for its words."""
    shelf = f"{form.address}{urls.shelf(build_id)}"
    return [Label("", one.name, one.words, urls.part_list(shelf, one.words)) for one in form.boxes]


def _check_codes(labels: Sequence[Label], stickers: Stickers, typed: Mapping[str, str]) -> None:
    """Whether every code has room. Raises BadInput."""
    needed, (side, beside) = max(least_side(label.address) for label in labels), code_side(stickers)
    if needed <= side:
        return
    name, size = ("high", "height") if beside and stickers.high < stickers.wide else ("wide", "width")
    words = (
        f"A label's {size}: a code takes {needed * 1e3:.1f} mm with its white rim, and such a label has "
        f"{side * 1e3:.1f} mm for it."
    )
    raise _refused(name, words, "larger labels, or a shorter address of the server", typed)


def _refused(name: str, message: str, accepts: str, typed: Mapping[str, str]) -> BadInput:
    return BadInput((FieldError(name, message, accepts),), dict(typed))


def things_of(session: Session, build: BuildFace, now: datetime) -> list[Thing]:
    """Everything of a build that can have a label, by sort, in the order of its lists."""
    return [*_parts(session, build, now), *_lines(session, build), *_pieces(session, build)]


def _parts(session: Session, build: BuildFace, now: datetime) -> list[Thing]:
    there = supplies(session, build, now.date())
    found: dict[str, list[Thing]] = {"shelf": [], "part": []}
    for part in known_parts(session, build):
        if part.set_aside:
            continue
        supply = there.get(part.id)
        sort = "shelf" if supply is not None and supply.in_hand else "part"
        label = Label("", part.name, part.kind, urls.part(build.id, part.id))
        found[sort].append(Thing(sort, part.id, label))
    return [*found["shelf"], *found["part"]]


def _lines(session: Session, build: BuildFace) -> list[Thing]:
    """Those in the car, by the number taped to their ends; those without one last."""
    rows = [row for row in ledger.rows_beside(session, build.id, "line").lines if row.in_car]
    return [
        Thing(
            "line",
            row.key,
            Label(str(row.tag or ""), row.name, row.medium, urls.ledger.may_go(build.id, row.key)),
        )
        for row in sorted(rows, key=lambda row: (not row.tag, row.tag, row.key))
    ]


def _pieces(session: Session, build: BuildFace) -> list[Thing]:
    names = {one.id: one.name for one in subsystem_faces(session, build.id)}
    chosen = [
        row for row in designs.designs_of(session, build.id) if row.chosen and row.subsystem_id in names
    ]
    found = runs.runs_of(session, [row.key for row in chosen])
    return [
        Thing(
            "piece",
            piece.key,
            Label(
                str(number),
                piece.name or piece.kind,
                f"{names[row.subsystem_id]} · {row.name}",
                urls.piece_look(build.id, row.key, str(piece.key)),
            ),
        )
        for row in chosen
        for number, piece in enumerate(found[row.key].pieces, 1)
    ]
