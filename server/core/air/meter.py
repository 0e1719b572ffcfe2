"""The air meter: how much of its range is used, and what another housing does to its reading."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MeterScale:
    """What a change of the meter housing's bore does.

    area_ratio: new bore area over the bore area the meter was calibrated in, [-].
    reads: what the meter reports over what flows, with the old calibration, [-].
    """

    area_ratio: float
    reads: float


def meter_share(flow: float, greatest_flow: float) -> float:
    """Share of the meter's range that a flow takes up.

    flow: [kg/s]. greatest_flow: the greatest flow the meter can report, [kg/s]. Returns [-]; above 1 the
    meter reports too little. Errors: ValueError where greatest_flow is not above zero. Source: definition.
    """
    if greatest_flow <= 0.0:
        raise ValueError("The meter's greatest flow is above zero.")
    return flow / greatest_flow


def meter_scale(calibrated_bore: float, fitted_bore: float) -> MeterScale:
    """What a meter element reports when it is moved into a housing of another bore.

    The element feels the speed of the air; at the same flow the speed goes as one over the area. A larger
    housing so reads low and the mixture goes lean by about as much, until the calibration is re-scaled.
    calibrated_bore: [m]. fitted_bore: [m].
    Errors: ValueError for a bore that is not above zero. Source: continuity; common practice, no source.
    """
    if calibrated_bore <= 0.0 or fitted_bore <= 0.0:
        raise ValueError("A bore is above zero.")
    area_ratio = (fitted_bore / calibrated_bore) ** 2
    return MeterScale(area_ratio, 1.0 / area_ratio)
