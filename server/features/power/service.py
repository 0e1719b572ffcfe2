"""Power over the engine speed from the engine sheet, and what the standard makes of it."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlmodel import Session

from server.core.air import atmosphere, demand
from server.core.air.corrected_power import corrected_power, dry_pressure
from server.core.air.fuels import FUELS
from server.core.air.power_curve import PowerPoint, power_curve
from server.errors import BadInput
from server.features.builds import service as builds
from server.features.engine.page import listed_speeds
from server.features.engine.service import PLOT_STEP, EngineNumbers, engine_numbers, peak_doubt
from server.features.power import forms, page


def power_page(
    session: Session, build_id: int, typed: Mapping[str, str], now: datetime
) -> tuple[page.PowerPage, int]:
    """`typed`: the weather and a measured figure, as the address brings them.

    Returns the page and its status: 200, or 422 where something typed can't be used. Raises NotFound.
    """
    build = builds.build_face(session, build_id)
    numbers = engine_numbers(session, build)
    curves = None if numbers is None else builds.kept_for("power", numbers, lambda: _curves(numbers))
    texts = {name: typed.get(name, "") for name in page.LABELS}
    if numbers is None or curves is None:
        return page.power_page(build, now.date(), None, None, texts, None), 200
    try:
        corrected, refused = _corrected(numbers, curves, forms.weather(texts, build.system)), None
    except BadInput as bad:
        corrected, refused = None, bad
    shown = page.power_page(build, now.date(), (numbers.sheet, curves), corrected, texts, refused)
    return shown, refused.status if refused else 200


def _curves(numbers: EngineNumbers) -> page.Curves:
    """On the speeds of the engine sheet's own drawing, so that both have one peak."""
    drawn = _curve(numbers, demand.sheet_speeds(numbers.sheet, PLOT_STEP))
    peak = max(drawn, key=lambda point: point.power)
    listed = listed_speeds(drawn[0].rpm, numbers.sheet.redline, peak.rpm)
    return page.Curves(drawn, _curve(numbers, listed))


def _curve(numbers: EngineNumbers, speeds: Sequence[float]) -> tuple[PowerPoint, ...]:
    sheet = numbers.sheet
    flows = [peak_doubt(numbers, rpm) for rpm in speeds]
    shares = [flow.doubt / flow.value for flow in flows]
    return power_curve(demand.demand_curve(sheet, speeds), FUELS[sheet.fuel], shares)


def _corrected(numbers: EngineNumbers, curves: page.Curves, weather: forms.Weather) -> page.Correction:
    """In the weather that was typed; what was not is the engine sheet's, and its humidity the usual one."""
    sheet = numbers.sheet
    temperature = sheet.ambient_temperature if weather.temperature is None else weather.temperature
    standard = atmosphere.standard(sheet.elevation).pressure
    pressure = standard if weather.pressure is None else weather.pressure
    humidity = page.USUAL_HUMIDITY if weather.humidity is None else weather.humidity
    top = max(curves.drawn, key=lambda point: point.power)
    boosted = any(point.boost > 0.0 for point in sheet.points)
    observed = top.power if weather.measured is None else weather.measured

    def at(damp: float) -> float:
        return corrected_power(observed, dry_pressure(pressure, temperature, damp), temperature).corrected

    return page.Correction(
        found=corrected_power(
            observed, dry_pressure(pressure, temperature, humidity), temperature, boosted=boosted
        ),
        measured=weather.measured is not None,
        doubt=None if weather.measured is not None else top.doubt,
        pressure=pressure,
        temperature=temperature,
        humidity=humidity,
        guessed=weather.humidity is None,
        between=(at(0.0), at(1.0)),
    )
