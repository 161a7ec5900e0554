"""Season by season: when each rung was reached, what was told, and what came."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from math import isnan
from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.replay.judge import RUNGS
from rootbound_service.replay.report.say import day, days, number, percent, water

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rootbound_service.records import Units
    from rootbound_service.replay.harvests import Harvests
    from rootbound_service.replay.judge import Judged
    from rootbound_service.replay.report.facts import Facts
    from rootbound_service.replay.values import Night, Played

TIGHT = 2


@dataclass(frozen=True, slots=True)
class Row:
    """One view of one season, in words."""

    year: int
    first_of_year: bool
    calm: bool
    """Nothing was said and nothing came."""
    of_year: str
    """Rain, and the yield against its trend."""
    roots: str
    firsts: str
    short: str
    lead: str
    notes: str
    ahead: str
    stress: str
    weighted: str


def season_rows(facts: Facts) -> list[Row]:
    """Tell every season of every view, by year.

    Parameters
    ----------
    facts
        Of the report.
    """
    several = len({view.field for view in facts.views}) > 1
    by_year: dict[int, list[tuple[str, Played, Judged]]] = {}
    for view in facts.views:
        roots = f"{view.field}, {view.roots}" if several else view.roots
        for played, one in view.seasons:
            by_year.setdefault(one.year, []).append((roots, played, one))
    return [row for year in sorted(by_year) for row in _year(by_year[year], facts)]


def _year(seasons: Sequence[tuple[str, Played, Judged]], facts: Facts) -> Iterator[Row]:
    """Rows of one year; where nothing was said and nothing came of any, one for all."""
    rows = [_row(*one, facts, first=not at) for at, one in enumerate(seasons)]
    if len(rows) == 1 or not all(row.calm for row in rows):
        yield from rows
        return
    most = max((judged for _, _, judged in seasons), key=lambda one: one.stress)
    stress = f"{most.stress:.1f} at the most"
    yield replace(rows[0], roots="all", ahead="", stress=stress, weighted=_weighted(most))


def _row(roots: str, played: Played, judged: Judged, facts: Facts, *, first: bool) -> Row:
    """One row."""
    parts = (
        _rain(played.rain_mm, facts.about.units),
        _harvest(facts.about.harvests, judged.year),
    )
    return Row(
        judged.year,
        first,
        judged.worst == 0 and not judged.ran_short,
        ", ".join(part for part in parts if part),
        roots,
        _firsts(judged.first),
        "no" if judged.onset is None else day(judged.onset),
        _lead(judged),
        _notes(played, judged),
        _ahead(played, judged),
        _stress(played.came(judged.twin).by_band, judged.stress),
        _weighted(judged),
    )


def _rain(rain_mm: float, units: Units) -> str:
    """Rain of the season."""
    return "rain not known" if isnan(rain_mm) else water(rain_mm, units)


def _harvest(harvests: Harvests | None, year: int) -> str:
    """Yield against its trend."""
    if harvests is None:
        return ""
    share = harvests.share(year)
    return "no yield" if share is None else f"{percent(share, sign=True)} of trend"


def _firsts(first: Sequence[date | None]) -> str:
    """First night on each rung; one that was jumped over has the night of the next."""
    parts = [f"{rung}: {day(night)}" for rung, night in zip(RUNGS, first, strict=True) if night]
    return ", ".join(parts) or "stayed at 0"


def _lead(judged: Judged) -> str:
    """Days from the first word to running short, and how it counts."""
    lead = judged.lead[0]
    if judged.onset is None:
        return "in vain" if judged.reached(1) else "rightly none"
    if lead is None:
        return "no word"
    return f"{days(lead)} before" if lead >= 0 else f"{days(-lead)} too late"


def _notes(played: Played, judged: Judged) -> str:
    """Every note that would have gone out, by date and rung."""
    told = [(night.night, night.twin(judged.twin).note) for night in played.nights]
    parts = [f"{day(night)}: {rung}" for night, rung in told if rung is not None]
    return ", ".join(parts) or "none"


def _ahead(played: Played, judged: Judged) -> str:
    """Days ahead as said on the first night at tight or above, and as they came."""
    if judged.twin == "free":
        return ""
    at = (night for night in played.nights if night.held.rung >= TIGHT)
    night = next(at, None)
    came = _came(played.free.onset, played.held.onset)
    return f"never {RUNG_NAMES[TIGHT]}; came: {came}" if night is None else _both(night, came)


def _both(night: Night, came: str) -> str:
    """What was said and what came."""
    if night.ahead_kind == "neither":
        said = "neither would run short"
    elif night.ahead_kind == "free_would_not":
        said = "free roots would not run short"
    else:
        least = number(night.ahead_low)
        most = "no end" if night.ahead_high is None else number(night.ahead_high)
        said = f"{number(night.ahead_median)} ({least} to {most}) days"
    return f"said {day(night.night)}: {said}; came: {came}"


def _came(free: date | None, held: date | None) -> str:
    """How many days sooner the held roots ran short, as it came."""
    if held is None:
        return "neither ran short" if free is None else "held roots did not run short"
    return "free roots did not run short" if free is None else days((free - held).days)


def _stress(bands: Mapping[str, float], total: float) -> str:
    """Stress-day equivalents of the season, and by the stage where a row of losses begins."""
    parts = [f"{band} {value:.1f}" for band, value in bands.items() if value >= 0.05]  # noqa: PLR2004  rounds to 0.1
    return f"{total:.1f}" + (f" ({', '.join(parts)})" if parts else "")


def _weighted(judged: Judged) -> str:
    """Weighted stress of the season."""
    return "–" if isnan(judged.weighted) else f"{judged.weighted:.0f} %"
