"""Seasons by hand of four kinds, with yields beside them, for what the report tells."""

from __future__ import annotations

from datetime import date

from rootbound_service.replay.report.facts import About
from rootbound_service.replay.yields import Yields
from service.replay.rig import FIELD, came, from_july, played, weather

RIGHT = [0, 1, 1, 2, 3, 3, 0]
QUIET = [0] * 7
VAIN = [0, 1, 0]


def short(year, amount=2.5):
    """Runs short on 10 July of a year."""
    return came({date(year, 7, 10): amount}, weighted=10.0 * amount)


def seasons(kinds, first=1991, **others):
    """A season a letter: r rightly warned, q quiet, v warned in vain, u short without a word."""
    made = {
        "r": (RIGHT, True),
        "q": (QUIET, False),
        "v": (VAIN, False),
        "u": (QUIET, True),
    }
    return [
        played(
            first + k,
            from_july(first + k, *made[kind][0]),
            short(first + k, 2.5 + 0.1 * k) if made[kind][1] else came({}),
            **others,
        )
        for k, kind in enumerate(kinds)
    ]


def about(**others):
    return About(weather(1990, 20), FIELD, **others)


def bushels(shares, first=1991):
    """Yields that lie so far from a level trend."""
    return Yields("bu/ac", {first + k: 150.0 * (1.0 + share) for k, share in enumerate(shares)})
