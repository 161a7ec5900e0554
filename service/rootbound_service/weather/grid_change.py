"""What an answer changes: gaps are filled, differing values replaced, equal ones settled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.day import QUANTITIES, Status

if TYPE_CHECKING:
    from numpy.typing import NDArray

DIGITS = 4
"""Sources give two digits; float32 blurs them from the seventh on."""
HAIR = 1e-9
ROUNDING = np.array([quantity.rounding for quantity in QUANTITIES])[:, None, None]


@dataclass(slots=True, eq=False)
class Tables:
    """A part of the five stored arrays, each of shape (quantity, cell, day)."""

    value: NDArray[np.float32]
    flag: NDArray[np.uint16]
    status: NDArray[np.uint8]
    issued: NDArray[np.int32]
    seen: NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """What is to be stored instead, and where it differs from before."""

    after: Tables
    fresh: NDArray[np.bool_]
    revised: NDArray[np.bool_]
    settled: NDArray[np.bool_]


def change(old: Tables, new: Tables) -> Change:
    """Hold an answer against what is stored.

    Parameters
    ----------
    old
        As stored.
    new
        The answer; NaN where it has no value, which never erases. An issue older than the
        stored one is passed over, save where nothing is stored.

    Returns
    -------
    Change
        A value within rounding keeps its digits and its issue, and may become final; ``seen``
        stays the day of the first value.
    """
    absent = np.isnan(old.value)
    here = np.isfinite(new.value) & (absent | (new.issued >= old.issued))
    fresh = here & absent
    apart = np.abs(rounded(new.value) - rounded(old.value)) > ROUNDING + HAIR
    revised = here & ~absent & apart
    put = fresh | revised
    same = here & ~put
    settled = same & (new.status == Status.FINAL) & (old.status != Status.FINAL)
    status = np.where(put, new.status, np.where(same, np.maximum(new.status, old.status), 0))
    after = Tables(
        value=np.where(put, new.value, old.value),
        flag=np.where(here, new.flag, old.flag),
        status=np.where(here, status, old.status).astype(np.uint8),
        issued=np.where(put, new.issued, old.issued),
        seen=np.where(fresh, new.seen, old.seen),
    )
    return Change(after, fresh, revised, settled)


def rounded(values: NDArray[np.float32]) -> NDArray[np.float64]:
    """Give stored values in the digits in which they came."""
    wide = values.astype(np.float64)
    return np.round(wide, DIGITS, out=wide)
