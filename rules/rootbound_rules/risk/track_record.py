"""What a rise to a rung has meant in real seasons that were played again."""

from __future__ import annotations

from dataclasses import dataclass

from rootbound_rules.tables import load_table


@dataclass(frozen=True, slots=True)
class TrackRecord:
    """Rises to one rung, and what came of them."""

    rung: int
    rises: int
    ran_short: int
    """Of these, followed within three weeks by running short."""


def track_record(rung: int) -> TrackRecord | None:
    """Return what rises to a rung have meant; None for ample, to which nothing rises.

    Parameters
    ----------
    rung
        The rung. [0-4]
    """
    if rung < 1:
        return None
    rows = load_table("ladder")
    rises, short = rows.numbers("record.rises"), rows.numbers("record.ran_short")
    return TrackRecord(rung, int(rises[rung - 1]), int(short[rung - 1]))
