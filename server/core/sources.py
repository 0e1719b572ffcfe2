"""Register of the sources that the computations stand on.

A number shown to a builder names its source; where there is none it says so. Every other core module may look
a source up by its code; this module knows none of them.
"""

from dataclasses import dataclass
from enum import StrEnum


class Sureness(StrEnum):
    """How far a source can be leaned on; the value is the label that pages show."""

    published = "published"
    reproduced = "reproduced with a reference library"
    common_practice = "common practice, no source"
    from_memory = "from memory"
    geometry = "geometry"
    typed_by_builder = "typed by the builder"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a formula, a limit or a number comes from.

    code: short name used in code; title: the document; where: table, section or equation, may be empty.
    """

    code: str
    title: str
    where: str
    sureness: Sureness

    @property
    def label(self) -> str:
        """One line for a page; says so where there is no source or only a memory."""
        place = f"{self.title}, {self.where}" if self.where else self.title
        if self.sureness is Sureness.from_memory:
            return f"{place} ({Sureness.from_memory})"
        return place


_PUBLISHED = Sureness.published
_MEMORY = Sureness.from_memory
_LIBRARY = Sureness.reproduced

_SOURCES = (
    # no document behind these
    Source("practice", "common practice, no source", "", Sureness.common_practice),
    Source("geometry", "geometry", "", Sureness.geometry),
    Source("typed", "typed by the builder", "", Sureness.typed_by_builder),
    Source("maker", "maker's installation note, common practice", "", Sureness.common_practice),
    # measurement
    Source(
        "gum", "JCGM 100:2008, Guide to the expression of uncertainty in measurement", "5.1.2", _PUBLISHED
    ),
    Source(
        "gum-differences",
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement",
        "5.1.3 note 2",
        _PUBLISHED,
    ),
    Source(
        "gum-rectangular",
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement",
        "4.3.7",
        _PUBLISHED,
    ),
    Source(
        "gum-triangular",
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement",
        "4.3.9",
        _PUBLISHED,
    ),
    Source(
        "monte-carlo",
        "JCGM 101:2008, Propagation of distributions using a Monte Carlo method",
        "7",
        _PUBLISHED,
    ),
    Source(
        "weighted-mean",
        "M. G. Cox, The evaluation of key comparison data, Metrologia 39 (2002) 589",
        "procedure A",
        _PUBLISHED,
    ),
    Source(
        "birge",
        "R. T. Birge, The calculation of errors by the method of least squares, Phys. Rev. 40 (1932) 207",
        "",
        _MEMORY,
    ),
    Source(
        "tape", "Directive 2014/32/EU (MID)", "annex X (MI-008), chapter I, table 1, class II", _PUBLISHED
    ),
    Source(
        "caliper",
        "ISO 13385-1:2019, callipers",
        "5: the limit is the maker's and never under the step",
        _MEMORY,
    ),
    Source("gauge-class", "EN 837-1:1996, Bourdon tube pressure gauges", "accuracy class 2.5", _MEMORY),
    Source("si", "NIST Special Publication 811 (2008)", "appendix B", _PUBLISHED),
    Source(
        "dash",
        "SAE J514 / ISO 8434-2",
        "dash size is the tube's outside diameter in sixteenths of an inch",
        _PUBLISHED,
    ),
    Source("tube-sizes", "EN 10220 / ISO 4200", "series 1", _MEMORY),
    Source("pipe-sizes", "ASME B36.10M", "table 1", _LIBRARY),
    # hoses, clamps and thin tube
    Source("d2000", "ASTM D2000 / SAE J200", "table 1, test temperature by type letter", _PUBLISHED),
    Source(
        "hose-material",
        "maker's material standard for turbocharger hose, common practice",
        "",
        Sureness.common_practice,
    ),
    Source("j1508", "SAE J1508, hose clamps", "type F", _PUBLISHED),
    Source("j1231", "SAE J1231, formed tube ends for hose", "scope", _PUBLISHED),
    Source("compressor-map", "the compressor's map, typed by the builder", "", Sureness.typed_by_builder),
    Source("conservation", "conservation of mass", "", Sureness.geometry),
    Source("statics", "statics, F = p A", "", Sureness.geometry),
    Source("orifice", "H. E. Merritt, Hydraulic Control Systems", "section 3.4, orifice equation", _MEMORY),
    Source(
        "self-venting",
        "P. D. Hills, Designing piping for gravity flow, Chemical Engineering (1983)",
        "self-venting lines",
        _MEMORY,
    ),
    Source(
        "collapse",
        "S. Timoshenko, Theory of Elastic Stability",
        "collapse of a long tube under outside pressure",
        _MEMORY,
    ),
    Source(
        "shapiro",
        "A. H. Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow",
        "chapter 6",
        _LIBRARY,
    ),
    # lines
    Source(
        "idle-vacuum",
        "US Army Ordnance correspondence course, tune-up lesson",
        "vacuum readings at idle and as the throttle snaps shut",
        _PUBLISHED,
    ),
    Source("ideal-gas", "ideal gas, p V = m R T, absolute pressures", "", Sureness.geometry),
    Source("pressure-change", "EN 1779, leak testing", "pressure change method, Q = V dp/dt", _MEMORY),
    # exhaust
    Source(
        "burnt-gas",
        "J. B. Heywood, Internal Combustion Engine Fundamentals",
        "section 4.9, composition of the exhaust",
        _MEMORY,
    ),
    Source("heat-of-gases", "NIST-JANAF thermochemical tables", "cp of CO2, CO, H2O, H2, O2, N2", _MEMORY),
    Source("expansion", "materials handbook tables", "linear expansion near room temperature", _PUBLISHED),
    Source("expansion-memory", "linear expansion near room temperature", "", _MEMORY),
    # pipes in space
    Source(
        "mitred-bend",
        "pipingengineer.org, formula for mitre fabrication from pipe",
        "saw angle, lengths of the pieces",
        _PUBLISHED,
    ),
    Source(
        "rolling-offset", "602apprentice.blogspot.com, rolling offsets", "true offset, travel", _PUBLISHED
    ),
    Source("development", "sheet-metal workers' manuals", "cylinder cut by a plane, unrolled", _MEMORY),
    Source(
        "cutting-stock",
        "Gilmore and Gomory, A linear programming approach to the cutting-stock problem",
        "Operations Research 9 (1961)",
        _MEMORY,
    ),
    Source("bending", "pertneer.net, tube bending", "set-back, arc length", _PUBLISHED),
    # strength and heat
    Source("barlow", "Barlow's formula, thin wall on the outside diameter", "p D / (2 t)", _PUBLISHED),
    Source("lame", "S. Timoshenko, Strength of Materials, part II", "thick cylinders, Lamé", _MEMORY),
    Source(
        "proof-stainless", "EN 10269, steels for fasteners", "0.2 % proof strength by temperature", _PUBLISHED
    ),
    Source("proof-memory", "EN 10028-7, EN 10216-2", "least 0.2 % proof strength by temperature", _MEMORY),
    Source(
        "view-factor",
        "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer",
        "table 13.1, cylinder and parallel rectangle",
        _MEMORY,
    ),
    Source(
        "view-of-ball",
        "J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors",
        "differential element to sphere, normal through the centre",
        _MEMORY,
    ),
    Source(
        "grey-exchange", "H. C. Hottel, A. F. Sarofim, Radiative Transfer", "grey diffuse enclosure", _MEMORY
    ),
    Source(
        "emissivity",
        "emissivity tables of handbooks, in a thermal camera's manual",
        "total emissivity",
        _PUBLISHED,
    ),
    Source(
        "hot-pipe",
        "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer",
        "heat balance of a pipe: Gnielinski inside, Churchill and Chu outside, radiation",
        _PUBLISHED,
    ),
    Source(
        "globe-dropkin",
        "S. Globe, D. Dropkin, Natural-convection heat transfer in liquids confined by two horizontal plates"
        " and heated from below, J. Heat Transfer 81 (1959) 24",
        "",
        _MEMORY,
    ),
    Source(
        "brake-fluid",
        "49 CFR 571.116, Motor vehicle brake fluids",
        "least boiling point of wet DOT 3 fluid",
        _PUBLISHED,
    ),
    Source("wire-classes", "ISO 6722-1, road vehicles, cables", "temperature classes A to H", _PUBLISHED),
    Source("filler-stainless", "AWS A5.9/A5.9M, bare stainless steel electrodes", "", _PUBLISHED),
    Source("filler-steel", "AWS A5.18/A5.18M, AWS A5.10/A5.10M", "", _MEMORY),
    # air and flow
    Source("atmosphere", "U.S. Standard Atmosphere, 1976", "part 1", _PUBLISHED),
    Source("crane", "Crane Technical Paper 410", "", _LIBRARY),
    Source("rennels", "Rennels & Hudson, Pipe Flow (2012)", "smooth bends", _LIBRARY),
    Source(
        "volumetric-efficiency",
        "J. B. Heywood, Internal Combustion Engine Fundamentals",
        "section 2.10, definition",
        _MEMORY,
    ),
    Source(
        "isentropic-efficiency",
        "Cengel & Boles, Thermodynamics: An Engineering Approach",
        "chapter 7, definition",
        _MEMORY,
    ),
    Source(
        "colebrook",
        "C. F. Colebrook, Turbulent flow in pipes, J. Inst. Civ. Eng. 11 (1939) 133",
        "",
        _LIBRARY,
    ),
    # the plan
    Source(
        "pert",
        "D. G. Malcolm et al., Application of a technique for research and development program evaluation, "
        "Operations Research 7 (1959) 646",
        "",
        _MEMORY,
    ),
    Source(
        "critical-path",
        "J. E. Kelley, M. R. Walker, Critical-path planning and scheduling, Eastern Joint Computer "
        "Conference (1959) 160",
        "",
        _MEMORY,
    ),
    Source(
        "justification",
        "V. Valls, F. Ballestin, S. Quintanilla, Justification and RCPSP: a technique that pays, European "
        "Journal of Operational Research 165 (2005) 375",
        "",
        _MEMORY,
    ),
    Source(
        "peak-crossover",
        "V. Valls, F. Ballestin, S. Quintanilla, A hybrid genetic algorithm for the resource-constrained "
        "project scheduling problem, European Journal of Operational Research 185 (2008) 495",
        "",
        _MEMORY,
    ),
    Source(
        "naca-1135", "NACA Report 1135, Equations, tables and charts for compressible flow", "", _PUBLISHED
    ),
)

_BY_CODE = {one.code: one for one in _SOURCES}


def source(code: str) -> Source:
    """The registered source with this code.

    Raises KeyError naming the known codes: an unknown code is a mistake in the program, not of the builder.

    >>> source("geometry").label
    'geometry'
    """
    if code not in _BY_CODE:
        raise KeyError(f"no source {code!r}; known: {', '.join(sorted(_BY_CODE))}")
    return _BY_CODE[code]


def all_sources() -> tuple[Source, ...]:
    """Every registered source, in the order of the register (for the handbook)."""
    return _SOURCES
