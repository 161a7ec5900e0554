"""Whether a field is on the ladder tonight; if not, why not. A pure function of values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from rootbound_rules.risk.rungs import Reason

Status = Literal["watched", "unrated", "unknown", "waiting", "finished"]

WORDS = {
    Reason.HARVESTED: "harvested",
    Reason.BLACK_LAYER: "black layer reached",
    Reason.NOT_EMERGED: "not up yet",
    Reason.UNRATED: "unrated: no dig yet",
    Reason.WEATHER_TOO_OLD: "no answer: the last real weather is too old",
    Reason.WEATHER_PATCHY: "no answer: too many days of its weather are missing",
    Reason.NO_OUTLOOK: "no answer: too few past summers of weather",
    Reason.NOT_COMPUTED: "no answer: it could not be computed",
}
"""A few words for each reason that keeps a field from having a rung of its own roots."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Status of a field, and the reason wherever it is not simply watched."""

    status: Status
    reason: Reason | None = None

    @property
    def on_ladder(self) -> bool:
        """Whether it has a rung; that of an unrated field is one of free roots."""
        return self.status in {"watched", "unrated"}

    @property
    def words(self) -> str:
        """A few words; none of them ever says that a field without a rung is fine."""
        return WORDS[self.reason] if self.reason is not None else self.status


def standing(
    night: date,
    *,
    missing: Reason | None,
    rated: bool,
    emerged: bool,
    mature: bool,
    harvested_on: date | None,
) -> Standing:
    """Tell where a field stands.

    Parameters
    ----------
    night
        Tonight.
    missing
        What keeps the field from being computed; None where its weather is known.
    rated
        Whether a dig counts by tonight.
    emerged, mature
        Of the outlook tonight; not looked at where something is missing.
    harvested_on
        Day of the harvest, None as long as nobody reported one.

    Returns
    -------
    Standing
        Harvest first, since it needs no weather; then what is missing, for without weather
        nothing else is known; a field without a dig last.
    """
    if harvested_on is not None and harvested_on <= night:
        return Standing("finished", Reason.HARVESTED)
    if missing is not None:
        return Standing("unknown", missing)
    if mature:
        return Standing("finished", Reason.BLACK_LAYER)
    if not emerged:
        return Standing("waiting", Reason.NOT_EMERGED)
    return Standing("watched") if rated else Standing("unrated", Reason.UNRATED)
