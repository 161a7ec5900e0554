"""Many invented seasons, on several processes, as columns of one table."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from calibration.forecast import Asked, Row, season_rows
from calibration.truth import field_truth
from calibration.world import CLIMATES

Table = dict[str, NDArray]


def one_season(number: int, seed: int, asked: Asked, drier: str = "") -> list[Row]:
    """Nights of one season.

    Parameters
    ----------
    number, seed
        Which season of which world.
    asked
        How the service is asked.
    drier
        Name of the climate that comes true in place of its own; empty for the honest world.
    """
    lie = next((c for c in CLIMATES if c.name == drier), None)
    return season_rows(field_truth(number, seed, lie), asked)


def run(
    seasons: int,
    seed: int = 1,
    workers: int = 1,
    asked: Asked | None = None,
    drier: str = "",
    told: Callable[[int], None] = lambda _: None,
) -> Table:
    """Live so many seasons; the same numbers for the same seed however many workers.

    Parameters
    ----------
    seasons
        How many.
    seed
        Of the world.
    workers
        Processes; 1 stays in this one.
    asked, drier
        See :func:`one_season`.
    told
        Called with the count of finished seasons.

    Returns
    -------
    dict
        Columns by name, a row a night.
    """
    live = partial(one_season, seed=seed, asked=asked or Asked(), drier=drier)
    if workers == 1:
        return _table(map(live, range(seasons)), told)
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        return _table(pool.map(live, range(seasons), chunksize=4), told)


def _table(seasons: Iterable[list[Row]], told: Callable[[int], None]) -> Table:
    """Rows of all seasons as columns."""
    rows: list[Row] = []
    for done, season in enumerate(seasons, 1):
        rows += season
        told(done)
    return {name: np.array([row[name] for row in rows]) for name in rows[0]}
