"""What a soil service found below one place: layers, and what holds for all of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Layer:
    """One horizon or depth slice; None where the service has no value."""

    top_cm: float
    bottom_cm: float
    sand_pct: float | None = None
    silt_pct: float | None = None
    clay_pct: float | None = None
    organic_matter_pct: float | None = None
    bulk_density: float | None = None
    """[g cm-3]"""
    field_capacity: float | None = None
    """Water at 33 kPa. [m3 m-3]"""
    wilting_point: float | None = None
    """Water at 1500 kPa. [m3 m-3]"""
    available_water: float | None = None
    """As the survey states it, rock fragments and all. [m3 m-3]"""
    texture: str | None = None


@dataclass(frozen=True, slots=True)
class Profile:
    """The ground below one place as a service describes it."""

    source: str
    """Short name of the service, as in settings."""
    name: str
    """The service's own name of it, such as a map unit and its component."""
    share_pct: float | None
    """How much of the mapped area the described soil covers. [%]"""
    layers: tuple[Layer, ...]
    """From the top down."""
    water_table_cm: float | None = None
    """Shallowest depth of the water table in spring. [cm]"""
    restriction_cm: float | None = None
    """Depth of the first layer that stops roots. [cm]"""
    drainage: str | None = None
    remarks: tuple[str, ...] = ()
    """What a reader of its values should know, a sentence each."""
    raw: bytes = b""


class SoilSource(Protocol):
    """A soil service behind our names and units."""

    @property
    def name(self) -> str:
        """Short name, as in settings."""
        ...

    @property
    def title(self) -> str:
        """Name for people."""
        ...

    def covers(self, lat: float, lon: float) -> bool:
        """Tell whether the service may know the place. [deg]"""
        ...

    def fetch(self, lat: float, lon: float) -> Profile:
        """Ask for the soil of a place; raises ``Unavailable`` if nothing usable came."""
        ...
