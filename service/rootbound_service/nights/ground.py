"""Soil of fields enrolled without one: asked for at the night's start, each place once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.soil.build import sources_at
from rootbound_service.soil.fetch import fetch_soils

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.records import FieldRecord
    from rootbound_service.wiring import Parts


def bring_soils(parts: Parts, fields: Sequence[FieldRecord]) -> tuple[str, ...]:
    """Ask the soil services for the fields that still need them.

    Parameters
    ----------
    parts
        The wired service.
    fields
        Tonight's fields.

    Returns
    -------
    tuple of str
        What came, a sentence a field.
    """
    asked = fetch_soils(
        parts.engine, sources_at(parts.order, parts.soils), fields, parts.clock.now()
    )
    return tuple(one.sentence for one in asked)
