"""A trace as a table: one line a day, names and units in the header."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pandas import DataFrame

    from rootbound_rules.season.trace_day import TraceDay

Cell = Callable[["TraceDay"], object]

COLUMNS: dict[str, Cell] = {
    "date": lambda day: day.date.isoformat(),
    "gdd_f": lambda day: day.gdd_f,
    "gdd_f_total": lambda day: day.gdd_f_total,
    "stage": lambda day: day.stage,
    "et0_mm": lambda day: day.et0_mm,
    "kcb": lambda day: day.kcb,
    "ke": lambda day: day.ke,
    "taw_mm": lambda day: day.free.taw,
    "raw_mm": lambda day: day.free.p * day.free.taw,
    "root_depth_m": lambda day: day.free.depth,
    "reach": lambda day: day.held.reach,
    "free_ks": lambda day: day.free.ks,
    "held_ks": lambda day: day.held.ks,
    "free_depletion_mm": lambda day: day.free.within,
    "held_depletion_mm": lambda day: day.held.within,
    "free_stress_days": lambda day: day.free.stress_days,
    "held_stress_days": lambda day: day.held.stress_days,
    "rain_mm": lambda day: day.rain_mm,
    "irrigation_mm": lambda day: day.irrigation_mm,
    "runoff_mm": lambda day: day.runoff_mm,
    "top_depletion_mm": lambda day: day.top_depletion_mm,
    "free_water_mm": lambda day: day.free.water,
    "held_water_mm": lambda day: day.held.water,
    "held_root_depth_m": lambda day: day.held.depth,
    "held_beyond_depletion_mm": lambda day: day.held.beyond,
    "free_etc_mm": lambda day: day.free.evaporation + day.free.transpiration,
    "held_etc_mm": lambda day: day.held.evaporation + day.held.transpiration,
    "percolation_mm": lambda day: day.free.percolation,
    "rise_mm": lambda day: day.free.rise,
    "chu": lambda day: day.chu,
    "chu_total": lambda day: day.chu_total,
}
"""Depletions are per unit of each part's own area; ``reach`` is the held part's share."""
DIGITS = 6


def to_frame(days: Sequence[TraceDay]) -> DataFrame:
    """Return a trace as a data frame, one row a day.

    Parameters
    ----------
    days
        From ``rootbound_rules.season.trace.run_trace``.

    Returns
    -------
    DataFrame
        The columns of ``COLUMNS``, numbers in six digits behind the point.
    """
    import pandas as pd

    frame = pd.DataFrame({name: [cell(day) for day in days] for name, cell in COLUMNS.items()})
    return frame.round(DIGITS)


def write_table(days: Sequence[TraceDay], path: Path) -> None:
    """Write a trace as CSV.

    Parameters
    ----------
    days
        From ``rootbound_rules.season.trace.run_trace``.
    path
        The file; written over.
    """
    to_frame(days).to_csv(path, index=False)
