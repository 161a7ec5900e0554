"""What somebody saw or did on a field, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.units import MM_PER_INCH

if TYPE_CHECKING:
    from rootbound_service.records import ObservationRecord, Units

CARE = (
    "Before you walk the field: mind heat and thunder, take water, tell somebody where you are, "
    "keep clear of pivots and machinery, and keep to the re-entry times on pesticide labels."
)


def what_text(record: ObservationRecord, units: Units) -> str:
    """What was observed, in a person's units: ``rain 0.80 in``."""
    value = record.value or 0.0
    if record.kind == "rolled":
        return "leaves rolled at noon" if value else "leaves not rolled at noon"
    if record.kind == "harvest":
        return "harvested" if record.value is None else f"harvested, {record.value:.1f} t/ha"
    return f"{record.kind} {depth_text(value, units)}"


def depth_text(mm: float, units: Units) -> str:
    """A depth as a gauge reads it, finer than a note says it: ``0.85 in``, ``21.6 mm``."""
    return f"{mm / MM_PER_INCH:.2f} in" if units == "us" else f"{mm:.1f} mm"
