"""Asks soil services in turn: the first usable answer counts, the others' reasons are kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.public.http import Unavailable
from rootbound_service.soil.mix import values_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.soil.profile import Profile, SoilSource
    from rootbound_service.store.soil_record import SoilValue


@dataclass(frozen=True, slots=True)
class Asked:
    """What came of asking for one place."""

    profile: Profile | None
    """Of the first that had a usable answer."""
    values: tuple[SoilValue, ...]
    reasons: tuple[str, ...]
    """A sentence for each that was asked before and had none."""
    retry_later: bool
    """Whether one of those may answer another time."""


def ask_soil(sources: Sequence[SoilSource], lat: float, lon: float) -> Asked:
    """Ask for the soil of a place.

    Parameters
    ----------
    sources
        In the order of preference.
    lat, lon
        The place. [deg]

    Returns
    -------
    Asked
        Without a profile where nobody had an answer.
    """
    reasons: list[str] = []
    later = False
    for source in sources:
        if not source.covers(lat, lon):
            reasons.append(f"{source.title} does not cover this place")
            continue
        try:
            profile = source.fetch(lat, lon)
            values = values_of(profile, source.title)
        except Unavailable as error:
            reasons.append(str(error))
            later = later or error.retry_later
            continue
        return Asked(profile, values, tuple(reasons), later)
    if not sources:
        reasons.append("no soil service is named for this place")
    return Asked(None, (), tuple(reasons), later)
