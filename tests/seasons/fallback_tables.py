"""Tables of the section on fallbacks, as Markdown."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from seasons.losses import DewPoint, Loss, Wind
from seasons.stations import Station

ONCE = (
    ("Lincoln, Nebraska, airport on the plain, 2016", 2.52, 0.0, 0.1, 6.3, -4.2, -0.018),
    ("Greensboro, North Carolina, airport, typical year", 2.00, 0.5, -1.5, 2.4, -0.7, -0.006),
    ("Chicago O'Hare, airport in a suburb, 2015-2017", 2.74, 2.1, -9.4, -3.0, -13.1, -0.050),
    ("Mount Shasta, California, sheltered valley, 2015-2017", 0.62, 3.6, -0.8, -0.5, 16.7, 0.010),
)
"""Places computed by hand in the same way: wind [m s-1], lowest temperature less dew point [K],
ET0 without humidity, by Kimball, without humidity and wind [%], and the last one's Kcb [-]."""


def once_table() -> str:
    """Return the places that the trial does not compute again."""
    head = (
        "place",
        "wind at 2 m",
        "lowest temperature less dew point",
        "ET0 without humidity",
        "by Kimball",
        "without humidity and wind",
        "Kcb",
    )
    rows = [
        (
            place,
            f"{u:.2f} m/s",
            f"{k:.1f} K",
            f"{h:+.1f} %",
            f"{e:+.1f} %",
            f"{b:+.1f} %",
            f"{c:+.3f}",
        )
        for place, u, k, h, e, b, c in ONCE
    ]
    return _table(head, rows)


def loss_table(places: Sequence[Station], losses: Sequence[Loss]) -> str:
    """Return what each fallback costs at each station."""
    about = {place.name: place.about for place in places}
    head = ("station", "without", "ET0", "bias", "bias, all year", "RMSE, one day", "Kcb")
    rows = [
        (
            f"{loss.station} ({about[loss.station]})",
            loss.fallback,
            f"{loss.et0:.2f} mm/d",
            f"{loss.bias:+.2f} mm/d ({loss.percent:+.1f} %)",
            f"{loss.year_bias:+.2f} mm/d",
            f"{loss.rmse:.2f} mm/d",
            _kcb(loss),
        )
        for loss in losses
    ]
    return _table(head, rows)


def dew_table(found: Sequence[DewPoint]) -> str:
    """Return how each estimate of the dew point does."""
    head = ("station", "dew point", "error, June-August", "ET0", "RMSE, one day", "Kcb")
    rows = [
        (
            one.station,
            one.estimate,
            f"{one.error_k:+.1f} K",
            f"{one.loss.percent:+.1f} %",
            f"{one.loss.rmse:.2f} mm/d",
            _kcb(one.loss),
        )
        for one in found
    ]
    return _table(head, rows)


def wind_table(found: Sequence[Wind]) -> str:
    """Return the winds of summer, and what constants in their place cost."""
    head = ("station", "mean", "median", *(loss.fallback for loss in found[0].losses))
    rows = [
        (
            one.station,
            f"{one.mean:.2f} m/s",
            f"{one.median:.2f} m/s",
            *(f"ET0 {loss.percent:+.1f} %, Kcb {_kcb(loss)}" for loss in one.losses),
        )
        for one in found
    ]
    return _table(head, rows)


def _kcb(loss: Loss) -> str:
    return "-" if isnan(loss.kcb) else f"{loss.kcb:+.3f}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)
