"""The engine sheet. SI numbers inside; `typed` keeps each field's text as it was entered."""

from sqlalchemy import JSON, Column
from sqlmodel import Field, UniqueConstraint

from server.db import Row, VersionedRow


class EngineSheet(VersionedRow, table=True):
    """The engine's numbers; one sheet a build."""

    __tablename__ = "engine_sheet"

    build_id: int = Field(foreign_key="build.id", unique=True)
    displacement: float
    """[m³]"""
    cylinders: int = 4
    redline: float
    """[rpm]"""
    fuel: str = Field(max_length=20)
    elevation: float = 0.0
    """Of the garage above sea level [m]."""
    ambient_temperature: float = 298.15
    """[K]"""
    bonnet_temperature: float = 353.15
    """Air around the hoses, engine hot [K]."""
    compressor_efficiency: float = 0.70
    cooler_effectiveness: float = 0.70
    cooler_loss: float = 0.0
    """Pressure loss of the charge air cooler at the peak [Pa]."""
    filter_loss: float = 0.0
    """Pressure loss of what stands before the run in the intake, at the peak [Pa]."""
    highest_boost: float
    """The highest gauge pressure there is: over-boost cut or lift-off spike [Pa]."""
    meter_range: float | None = None
    """Greatest flow that the air meter reads [kg/s]."""
    meter_bore: float | None = None
    """Bore of the air meter's housing that the calibration is for [m]."""
    efficiency_doubt: float = 0.04
    """Standard uncertainty of the volumetric efficiency, relative."""
    boost_doubt: float = 5000.0
    """Standard uncertainty of the boost [Pa]."""
    exhaust_temperature: float | None = None
    """Of the gas at the turbine's outlet, at the peak [K]."""
    mixture: float | None = None
    """Air over fuel at the peak, as a share of the stoichiometric ratio (lambda)."""
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))


class EnginePoint(Row, table=True):
    """Volumetric efficiency and boost at one engine speed."""

    __tablename__ = "engine_point"
    __table_args__ = (UniqueConstraint("sheet_id", "rpm"),)

    sheet_id: int = Field(foreign_key="engine_sheet.id", index=True)
    rpm: float
    volumetric_efficiency: float
    boost: float
    """Gauge [Pa]."""
