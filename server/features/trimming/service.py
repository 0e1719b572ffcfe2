"""What can be done with a piece that is cut long and trimmed, and its page.

`ids`: the numbers of build, design and piece.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.checks.layout import piece_label
from server.core.checks.limits import LIMITS, Changed
from server.core.tube.centreline import Centreline, lay_out
from server.core.tube.cutting.bench import SAWN
from server.core.tube.cutting.trim import Advice, Fit, Saw, advise, chance_short, left_long
from server.core.tube.run import JointKind, PiecePlan, PortPlan, RunPlan
from server.core.tube.space.bend_table import NoPipe
from server.core.tube.space.closing import LengthDoubts, length_doubts
from server.core.tube.space.poses import PortPose
from server.core.tube.space.siting import Found
from server.core.tube.straights import bend_table, straights_of
from server.errors import NotFound, Refused, Stale
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.designs import store as designs
from server.features.designs.service import Surroundings, case_of, surroundings
from server.features.places.service import known_places
from server.features.shelf.forms import off_cut
from server.features.shelf.service import part_names, put_off_cut
from server.features.trimming import forms, page, store
from server.features.trimming.tables import Trim
from server.web import urls
from server.web.fields import Fields
from server.web.view import Happening

UNSURE = "where its two ports are is not entered, so the usual doubt of a run laid out by eye is taken"
FROM_POSES = "from the doubt of where its two ports are and how they face"


def offer_up(
    session: Session, ids: tuple[int, int, int], typed: Mapping[str, str], made: datetime, by: str
) -> int:
    """Write down how much too long a piece is. Raises NotFound, BadInput."""
    _piece(session, *ids)
    form = forms.reading(typed)
    row = Trim(
        piece_id=ids[2],
        at=made,
        by=by,
        excess=form.excess,
        doubt=form.doubt,
        read_with=form.read_with,
        note=form.note,
        typed=form.typed,
    )
    return store.add(session, row)


def take_off(
    session: Session, ids: tuple[int, int, int], trim_id: int, typed: Mapping[str, str], by: str
) -> None:
    """Write down what was taken off after a reading. Raises NotFound, BadInput, MissingVersion, Stale."""
    _piece(session, *ids)
    row = store.load_trim(session, ids[2], trim_id)
    version = Fields(typed).version()
    taken = forms.taken_off(typed)
    if not store.edit(session, trim_id, version, {"taken_off": taken, "taken_by": by}):
        raise Stale(page.clash(row, taken), typed)


def withdraw(session: Session, ids: tuple[int, int, int], trim_id: int, at: datetime | None) -> None:
    """Take a line out of the log, or put it back where there is no moment. Raises NotFound."""
    _piece(session, *ids)
    store.set_withdrawn(session, store.load_trim(session, ids[2], trim_id), at)


def keep_rest(session: Session, ids: tuple[int, int, int], typed: Mapping[str, str], now: datetime) -> int:
    """Lay what is left of the tube on the shelf. Raises NotFound, BadInput."""
    _piece(session, *ids)
    return put_off_cut(session, off_cut(typed, part_names(session, ids[0])), now)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What was trimmed, for the log; of a piece that was taken out since, the design is shown."""
    return tuple(
        Happening(
            row.at,
            page.told(row, piece.name or piece.kind),
            page.address(build_id, piece.design_id, piece.key)
            if piece.removed_at is None
            else urls.design(build_id, piece.design_id),
            row.by,
        )
        for row, piece in store.trims_in(session, build_id)
    )


def left_on(session: Session, build: BuildFace, plan: RunPlan) -> Mapping[int, float]:
    """What stays on each piece of a run at its first cut [m], by its number: as its own page has it."""
    around, line = surroundings(session, build), lay_out(plan)
    doubts = _doubts(known_places(session, build), plan, line)
    sized = [_sized(doubts, around, plan, line, piece) for piece in plan.pieces]
    return {
        piece.number: left_long(one.doubt, *_tools(around.limits, one.hose_end))
        for piece, one in zip(plan.pieces, sized, strict=True)
    }


def chances_short(session: Session, build: BuildFace, plans: Iterable[RunPlan]) -> Mapping[int, float]:
    """The chance that a cut still to come leaves a piece short [-], by the number of each that is sawn."""
    limits = surroundings(session, build).limits
    so_far = builds.kept(build, ("trims so far",), lambda: _trims_so_far(session, build.id))
    return {
        piece.id: _chance_short(so_far.get(piece.id), _tools(limits, _hose_end(plan, piece))[1])
        for plan in plans
        for piece in plan.pieces
        if piece.kind in SAWN
    }


def _trims_so_far(session: Session, build_id: int) -> Mapping[int, tuple[int, float | None]]:
    """Of each piece offered up: trims made, and what it is too long by if none was made since [m]."""
    found: dict[int, tuple[int, float | None]] = {}
    for row, piece in store.trims_in(session, build_id):
        trims = found.get(piece.key, (0, None))[0]
        taken = row.taken_off is not None
        found[piece.key] = (trims + taken, None if taken else row.excess)
    return found


def _chance_short(so_far: tuple[int, float | None] | None, fit: Fit) -> float:
    """None once it was offered up and no longer too long: nothing comes off any more."""
    if so_far is None:
        return chance_short(fit.risk, 0)
    trims, excess = so_far
    if excess is not None and excess <= fit.long:
        return 0.0
    return chance_short(fit.risk, 1 + trims)


def trim_page(
    session: Session,
    build_id: int,
    design_id: int,
    piece_id: int,
    now: datetime,
    refused: Refused | None = None,
) -> page.TrimPage:
    """Raises NotFound."""
    build, plan, piece = _piece(session, build_id, design_id, piece_id)
    design = designs.load_design(session, build_id, design_id)
    around = surroundings(session, build)
    rows = store.trims_of(session, piece_id)
    line = lay_out(plan)
    sized = _sized(_doubts(known_places(session, build), plan, line), around, plan, line, piece)
    saw, fit = _tools(around.limits, sized.hose_end)
    return page.trim_page(
        build, design_id, design.name, sized, rows, _advice(rows, saw, fit), saw, fit, now, refused
    )


def _piece(
    session: Session, build_id: int, design_id: int, piece_id: int
) -> tuple[BuildFace, RunPlan, PiecePlan]:
    """A piece of a design's run as it stands now. Raises NotFound."""
    build = builds.build_face(session, build_id)
    design = designs.load_design(session, build_id, design_id)
    rows = designs.rows_of(session, [design])[design_id]
    plan = case_of(rows, surroundings(session, build)).plan
    found = next((piece for piece in plan.pieces if piece.id == piece_id), None)
    if found is None:
        raise NotFound("This design has no such piece.")
    return build, plan, found


def _sized(
    doubts: LengthDoubts | None, around: Surroundings, plan: RunPlan, line: Centreline, piece: PiecePlan
) -> page.Sized:
    by_eye = _value("trim.doubt", around.limits)
    return page.Sized(
        id=piece.id,
        label=piece_label(piece),
        wanted=line.pieces[piece.number - 1].length,
        doubt=by_eye
        if doubts is None
        else max(doubts.straights[at] for at in straights_of(line)[piece.number]),
        doubt_from=UNSURE if doubts is None else FROM_POSES,
        stays_off=(doubts.out_by, doubts.out_of_line) if doubts is not None else (0.0, 0.0),
        hose_end=_hose_end(plan, piece),
        part=next((part.name for part in around.parts if part.id == piece.part_id), ""),
        by_length=tuple(part.name for part in around.parts if part.stock_length is not None),
    )


def _hose_end(plan: RunPlan, piece: PiecePlan) -> bool:
    beside = plan.joints[piece.number - 1 : piece.number + 1]
    return any(joint.kind is JointKind.HOSE_AND_CLAMP for joint in beside)


def _doubts(places: Mapping[int, Found], plan: RunPlan, line: Centreline) -> LengthDoubts | None:
    """Of the straights; None where the poses of both ports are not known, or no bender could make the run."""
    start, end = (_pose(places, port) for port in (plan.start, plan.end))
    if start is None or end is None:
        return None
    try:
        table = bend_table(line)
    except NoPipe:
        return None
    found: LengthDoubts = builds.kept_for(
        "length doubts", (table, start, end), lambda: length_doubts(table, start, end)
    )
    return found


def _pose(places: Mapping[int, Found], port: PortPlan | None) -> PortPose | None:
    found = places.get(port.id) if port is not None else None
    return found.pose if found is not None else None


def _advice(rows: list[Trim], saw: Saw, fit: Fit) -> Advice | None:
    """On the last reading; None where there is none, or the piece was trimmed since."""
    here = [row for row in rows if row.withdrawn_at is None]
    if not here or here[-1].taken_off is not None:
        return None
    trims = sum(row.taken_off is not None for row in here)
    return advise(here[-1].excess, here[-1].doubt, trims, saw, fit)


def _tools(limits: tuple[Changed, ...], hose_end: bool) -> tuple[Saw, Fit]:
    """The saw, and when a piece fits: a hose swallows more than a weld."""
    saw = Saw(_value("trim.blade", limits), _value("trim.saw", limits))
    if hose_end:
        slack = _value("trim.hose", limits)
        return saw, Fit(slack, slack, _value("trim.risk", limits))
    return saw, Fit(_value("trim.short", limits), _value("trim.long", limits), _value("trim.risk", limits))


def _value(key: str, limits: tuple[Changed, ...]) -> float:
    changed = next((one.value for one in limits if one.limit.key == key), None)
    return LIMITS[key].default if changed is None else changed
