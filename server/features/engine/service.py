"""What can be done with the engine sheet, and its page."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime

from sqlmodel import Session

from server.core.air import demand, fuels
from server.core.air.compressor_map import MapPoint
from server.core.checks.figures import Figures
from server.core.checks.figures.of_turbo import MAP
from server.core.measure.doubt import propagate
from server.core.measure.estimate import Estimate
from server.errors import Refused, Stale
from server.features.builds.service import build_face, clashes
from server.features.builds.store import BuildFace
from server.features.engine import forms, page, store
from server.features.engine.store import StoredSheet
from server.features.figures.service import known_figures

PLOT_STEP = 100.0
"""Engine speeds between two points of the curve [rpm]."""


@dataclass(frozen=True, slots=True)
class EngineNumbers:
    """The engine as the other features see it.

    bonnet_temperature: air around the hoses, engine hot [K]; meter_range: greatest flow that the air meter
    reads [kg/s], meter_bore: of the housing that its calibration is for [m], each None where not known;
    efficiency_doubt: standard uncertainty of the volumetric efficiency, relative [-]; boost_doubt: of the
    boost [Pa].
    """

    sheet: demand.EngineSheet
    bonnet_temperature: float
    meter_range: float | None
    meter_bore: float | None
    efficiency_doubt: float
    boost_doubt: float


def engine_numbers(session: Session, build: BuildFace) -> EngineNumbers | None:
    """The engine of a build, or None while its sheet is empty."""
    stored = store.load(session, build.id)
    return None if stored is None else _numbers(stored)


def _numbers(stored: StoredSheet) -> EngineNumbers:
    row = stored.row
    sheet = demand.EngineSheet(
        displacement=row.displacement,
        redline=row.redline,
        points=stored.points,
        elevation=row.elevation,
        ambient_temperature=row.ambient_temperature,
        compressor_efficiency=row.compressor_efficiency,
        intercooler_effectiveness=row.cooler_effectiveness,
        intercooler_loss=row.cooler_loss,
        intake_loss=row.filter_loss,
        fuel=row.fuel,
        overboost=row.highest_boost,
        exhaust_temperature=row.exhaust_temperature,
        mixture=row.mixture,
    )
    return EngineNumbers(
        sheet=sheet,
        bonnet_temperature=row.bonnet_temperature,
        meter_range=row.meter_range,
        meter_bore=row.meter_bore,
        efficiency_doubt=row.efficiency_doubt,
        boost_doubt=row.boost_doubt,
    )


def save_sheet(session: Session, build_id: int, typed: Mapping[str, str]) -> None:
    """Fill in the sheet or change it. Raises NotFound, MissingVersion, BadInput, Stale."""
    build = build_face(session, build_id)
    edit = forms.engine_edit(typed, build.system)
    values = asdict(edit.form)
    del values["points"]
    stands = store.load(session, build_id)
    if stands is None:
        store.add(session, build_id, values, edit.form.points)
        return
    if store.edit(session, build_id, edit.version, values, edit.form.points):
        return
    texts = {name: edit.form.typed.get(name, "") for name in page.LABELS}
    standing = {name: stands.row.typed.get(name, "") for name in page.LABELS}
    differ = clashes(page.LABELS, texts, standing)
    if differ:
        raise Stale(differ, typed)


def peak_doubt(numbers: EngineNumbers, rpm: float) -> Estimate:
    """Air at one engine speed [kg/s] with the doubt that volumetric efficiency and boost bring in."""

    def flow(values: Mapping[str, float]) -> float:
        points = tuple(
            replace(
                point,
                volumetric_efficiency=point.volumetric_efficiency * values["efficiency"],
                boost=point.boost + values["boost"],
            )
            for point in numbers.sheet.points
        )
        return demand.demand_curve(replace(numbers.sheet, points=points), (rpm,))[0].flow

    inputs = {
        "efficiency": Estimate(1.0, numbers.efficiency_doubt),
        "boost": Estimate(0.0, numbers.boost_doubt),
    }
    return propagate(flow, {"flow": lambda value: value}, inputs).estimate("flow")


def engine_page(
    session: Session, build_id: int, now: datetime, refused: Refused | None = None
) -> page.EnginePage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    stored = store.load(session, build_id)
    if stored is None:
        return page.engine_page(build, now.date(), 0, forms.DEFAULTS, None, None, None, refused)
    numbers, row = _numbers(stored), stored.row
    answer = answered(numbers, build)
    top = _map_top(known_figures(session, build).figures.values())
    return page.engine_page(build, now.date(), row.version, row.typed, numbers.sheet, answer, top, refused)


def _map_top(fitted: Iterable[Figures]) -> float | None:
    """The highest pressure ratio of the compressor's map among what is fitted, None where none is typed."""
    points = (MapPoint(*row) for figures in fitted for row in figures.tables.get(MAP, ()))
    return max((point.ratio for point in points), default=None)


def answered(numbers: EngineNumbers, build: BuildFace) -> page.Answer | None:
    """What an engine asks for; None where its sheet gives no curve of air demand."""
    sheet = numbers.sheet
    curve = demand.demand_curve(sheet, demand.sheet_speeds(sheet, PLOT_STEP))
    top = demand.peak(curve)
    if top is None:
        return None
    flow = peak_doubt(numbers, top.rpm)
    power = fuels.power_from_air(flow.value, fuels.FUELS[sheet.fuel])
    listed = demand.demand_curve(sheet, page.listed_speeds(curve[0].rpm, sheet.redline, top.rpm))
    return page.answer(build.system, sheet, curve, listed, flow, power, numbers.meter_range)
