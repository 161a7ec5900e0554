"""What came of a season: stress, water and roots by the weather that came, onset, stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.exposure import CROP, band_of
from rootbound_rules.tables import load_table
from rootbound_service.replay.baselines import weighted_stress
from rootbound_service.replay.values import Came

if TYPE_CHECKING:
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.trace_day import TraceDay
    from rootbound_service.replay.values import TwinName


def what_came(days: Sequence[TraceDay], twin_name: TwinName, crop: str) -> Came:
    """Tell what came of one twin.

    Parameters
    ----------
    days
        The season as traced, with the weather that came.
    twin_name
        Which twin.
    crop
        Losses are published by the stages of maize alone.
    """
    mark = load_table("ladder").number("onset_days")
    twins = [(day, getattr(day, twin_name)) for day in days]
    bands: dict[str, float] = {}
    for day, twin in twins:
        if crop == CROP and twin.stress > 0.0:
            band = band_of(day.stage) or "before V12"
            bands[band] = bands.get(band, 0.0) + twin.stress
    return Came(
        stress={day.date: twin.stress for day, twin in twins},
        water_mm={day.date: twin.water for day, twin in twins},
        total=days[-1].held.stress_days if twin_name == "held" else days[-1].free.stress_days,
        weighted=weighted_stress(days, held=twin_name == "held") if crop == CROP else nan,
        by_band=bands,
        onset=next((day.date for day, twin in twins if twin.stress_days > mark), None),
        depth_m={day.date: twin.depth for day, twin in twins},
    )


def rain_of_season(demand: Demand, year: int) -> float:
    """Rain of May to August; not a number where days are missing. [mm]

    Parameters
    ----------
    demand
        The place's days.
    year
        Of the season.
    """
    first, last = demand.index(date(year, 5, 1)), demand.index(date(year, 8, 31))
    if first < 0 or last >= len(demand):
        return float("nan")
    return float(np.sum(demand.rain_mm[first : last + 1]))


def until(demand: Demand, end: date) -> Demand:
    """Leave the days up to the last one of a season.

    Parameters
    ----------
    demand
        The place's days.
    end
        The last day to keep.
    """
    stop = demand.index(end) + 1
    series = ("rain_mm", "et0_mm", "gdd_f", "climate", "irrigation_mm", "made")
    return replace(demand, **{name: getattr(demand, name)[:stop] for name in series})
