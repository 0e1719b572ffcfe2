"""A compressor map for tests: invented, with the shape that maps have."""

from server.core.air.compressor_map import CompressorMap, MapPoint


def invented_line(speed: float, points: int = 7) -> list[MapPoint]:
    """One speed line from surge to choke. speed: of the highest, 0 to 1."""
    surge, choke = 0.135 * speed**1.6, 0.34 * speed**1.15
    line = []
    for number in range(points):
        along = number / (points - 1)
        efficiency = 0.76 - 0.45 * (along - 0.55) ** 2 - 0.12 * (speed - 0.72) ** 2
        ratio = 1.0 + 2.4 * speed**2.2 * (1.0 - 0.45 * along**2.2)
        line.append(MapPoint(surge + along * (choke - surge), ratio, efficiency, 180_000.0 * speed))
    return line


def invented_map(speeds: tuple[float, ...] = (0.4, 0.55, 0.7, 0.85, 1.0)) -> CompressorMap:
    """A map of these speed lines."""
    return CompressorMap(tuple(point for speed in speeds for point in invented_line(speed)))


def as_text(of: CompressorMap, heading: str = "flow (kg/s);pressure ratio;efficiency;rpm") -> str:
    """A map as somebody would paste it, with semicolons."""
    rows = [f"{at.flow!r};{at.ratio!r};{at.efficiency!r};{at.speed!r}" for at in of.points]
    return "\n".join([heading, *rows])
