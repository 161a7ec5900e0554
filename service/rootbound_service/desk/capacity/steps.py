"""What breaks first and what then serves: the scarcest is mended, then all is looked at again."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from rootbound_service.desk.capacity.asked import HOUR_S
from rootbound_service.desk.capacity.limits import (
    FIRST,
    SHARE,
    USUAL,
    Resource,
    mail_per_s,
    resources,
)
from rootbound_service.desk.capacity.night import Sized, sized
from rootbound_service.desk.capacity.words import plural
from rootbound_service.weather.sources.nasa_power import SHORT_DAYS

if TYPE_CHECKING:
    from rootbound_service.desk.capacity.asked import Asked
    from rootbound_service.desk.capacity.measured import Measured

MOST_STEPS = 30
HIGHEST = 2
"""Digits that a rounded limit keeps."""


@dataclass(frozen=True, slots=True)
class Mend:
    """What serves a resource that has run out."""

    words: str
    asked: Asked | None = None
    """The question then; None: the model knows nothing that helps."""
    built: bool = True
    """Whether the service can do it today."""


@dataclass(frozen=True, slots=True)
class Step:
    """A resource that ran out, and what was changed for it."""

    name: str
    used: float
    mend: Mend


def steps(asked: Asked, measured: Measured) -> tuple[list[Step], Sized]:
    """Mend the scarcest resource, look again, and so on until everything fits.

    Parameters
    ----------
    asked
        The question, with what the operator has.
    measured
        The figures.

    Returns
    -------
    tuple
        The steps in order, and what the model says after the last.
    """
    found: list[Step] = []
    now = sized(asked, measured)
    helpless: set[str] = set()
    while len(found) < MOST_STEPS:
        worst = _worst(now, helpless)
        if worst is None:
            break
        mend = MENDS[worst.name](now, worst)
        found.append(Step(worst.name, worst.used, mend))
        if mend.asked is None:
            helpless.add(worst.name)
        else:
            now = sized(mend.asked, measured)
    return found, now


def _worst(now: Sized, helpless: set[str]) -> Resource | None:
    """The scarcest of what is too scarce; every night's pulls before those of a first."""
    short = [one for one in resources(now) if one.used > SHARE and one.name not in helpless]
    if not short:
        return None
    usual = [one for one in short if one.name == USUAL]
    return usual[0] if usual and short[0].name == FIRST else short[0]


def _pulls(now: Sized, short: Resource) -> Mend:
    """Make fewer requests of the source that takes longest."""
    pulls = now.pulls.first if short.name == FIRST else now.pulls.usual
    slow = max(pulls, key=lambda pull: pull.seconds)
    if slow.source == "nws":
        return _forecasts(now, short)
    if slow.source == "gridmet":
        return _days(now, short)
    if not now.asked.manners.pieces:
        words = f"{slow.title} asked in pieces of {SHORT_DAYS} days, so that boxes serve, not cells"
        manners = replace(now.asked.manners, pieces=True)
        return Mend(words, replace(now.asked, manners=manners), built=False)
    hours = short.load / HOUR_S
    return Mend(f"nothing that the model knows: {slow.title} makes it {hours:,.1f} hours")


def _forecasts(now: Sized, short: Resource) -> Mend:  # noqa: ARG001  one of many alike
    words = "the forecast's grid as a file for all places instead of a request a place"
    manners = replace(now.asked.manners, forecasts="files")
    return Mend(words, replace(now.asked, manners=manners), built=False)


def _days(now: Sized, short: Resource) -> Mend:
    """Yearly files, where requests were made and there are files."""
    if now.asked.manners.days == "files" or "gridmet" not in now.lying.cells:
        days = short.load / (24 * HOUR_S)
        return Mend(f"nothing that the model knows: it takes {days:,.0f} days")
    words = "gridMET's yearly files for all cells at once (weather/sources/gridmet_file.py)"
    manners = replace(now.asked.manners, days="files")
    return Mend(words, replace(now.asked, manners=manners), built=False)


def _hosts(now: Sized, short: Resource) -> Mend:
    machines = now.asked.machines
    many = _needed(machines.hosts, short)
    return Mend(f"{many:,} host{plural(many)} of {machines.cores} cores", _with(now, hosts=many))


def _memory(now: Sized, short: Resource) -> Mend:
    each = round_up(now.asked.machines.memory_gb * short.used / SHARE)
    return Mend(f"{each:,.0f} GB of memory a host", _with(now, memory_gb=each))


def _writers(now: Sized, short: Resource) -> Mend:
    many = _needed(now.asked.machines.writers, short)
    words = f"{many:,} connections that write at once, each its own fields"
    return Mend(words, _with(now, writers=many), built=False)


def _letters(now: Sized, short: Resource) -> Mend:
    machines = now.asked.machines
    many = _needed(machines.letter_cores, short)
    hosts = max(machines.hosts, math.ceil(many / machines.cores))
    words = (
        f"letters written by {many:,} cores of {hosts:,} host{plural(hosts)}: the sweep's workers"
    )
    return Mend(words, _with(now, letter_cores=many, hosts=hosts), built=True)


def _mail(now: Sized, short: Resource) -> Mend:
    """A higher limit at the provider, and senders enough to use it."""
    machines = now.asked.machines
    rate = mail_per_s(now) * short.used / SHARE
    limit = max(machines.mail_per_s, round_up(rate))
    senders = max(machines.senders, math.ceil(rate * now.measured["send_s"]))
    words = f"{limit:,g} letters a second granted by the provider, {senders:,} senders"
    return Mend(words, _with(now, mail_per_s=limit, senders=senders))


def _texts(now: Sized, short: Resource) -> Mend:
    rate = round_up(now.asked.machines.texts_per_s * short.used / SHARE)
    return Mend(f"{rate:,g} texts a second granted by the provider", _with(now, texts_per_s=rate))


def _disk(now: Sized, short: Resource) -> Mend:
    each = round_up(now.asked.machines.disk_gb * short.used / SHARE)
    return Mend(f"{each:,.0f} GB of disk a host", _with(now, disk_gb=each))


MENDS: dict[str, Callable[[Sized, Resource], Mend]] = {
    USUAL: _pulls,
    FIRST: _pulls,
    "past years of new cells": _days,
    "computing": _hosts,
    "memory of workers": _memory,
    "rows into the database": _writers,
    "letters written": _letters,
    "weekly letters written": _letters,
    "letters sent": _mail,
    "texts sent": _texts,
    "disk": _disk,
    "files of forecasts": _forecasts,
    "pages": _hosts,
}


def round_up(value: float) -> float:
    """Round up to two digits: nobody buys the third.

    Parameters
    ----------
    value
        More than 0.
    """
    step = 10.0 ** (math.floor(math.log10(value)) - HIGHEST + 1)
    return math.ceil(round(value / step, 6)) * step


def _needed(now: int, short: Resource) -> int:
    return math.ceil(now * short.used / SHARE)


def _with(now: Sized, **changes: Any) -> Asked:
    return replace(now.asked, machines=replace(now.asked.machines, **changes))
