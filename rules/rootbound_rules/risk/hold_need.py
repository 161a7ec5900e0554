"""What the ladder asks of a night, as counts of members for the search of rain to hold."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.risk.windows import CHANCES
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.risk.ladder import Reading


def members_needed(reading: Reading, members: int) -> NDArray[np.int64]:
    """Count how many members must reach each rung's stress for the ladder to say that rung.

    The ladder itself is asked, so that its thresholds and stages stand in one place.

    Parameters
    ----------
    reading
        Of the night; its chances do not matter.
    members
        Of the outlook.

    Returns
    -------
    ndarray
        Shape (3, rungs from 1 on): for the low amount, the ladder's own, for the high one;
        ``members + 1`` where the night's stage rules the rung out.
    """
    rows = load_table("hold")
    shares = [rows.number("range.low_share"), rows.number("range.high_share")]
    still = with_chances(reading, dict.fromkeys(CHANCES, 0.0))
    needed = np.full((3, len(CHANCES)), members + 1, np.int64)
    for c, chance in enumerate(CHANCES):
        own = _least(still, chance, c + 1, members)
        if own <= members:
            low, high = (_count(share, members) for share in shares)
            needed[:, c] = max(low, own), own, min(high, own)
    return needed


def _least(still: Reading, chance: str, rung: int, members: int) -> int:
    """Smallest count of members with which the ladder says at least ``rung``."""
    few, many = 0, members + 1
    while many - few > 1:
        middle = (few + many) // 2
        said, _ = raw_rung(with_chances(still, {chance: middle / members}))
        few, many = (few, middle) if said >= rung else (middle, many)
    return many


def with_chances(reading: Reading, chances: dict[str, float]) -> Reading:
    """The same reading with other chances.

    Parameters
    ----------
    reading
        Of a night.
    chances
        By the names of ``CHANCES``. [0-1]
    """
    changes: dict[str, Any] = {**chances}
    return replace(reading, **changes)


def _count(share: float, members: int) -> int:
    """Smallest count of members whose share is at least ``share``."""
    return next(n for n in range(1, members + 1) if n / members >= share)
