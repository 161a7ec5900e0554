"""What a rung has meant in the seasons that were played, and each season with its yield."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

import numpy as np

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.replay.contingency import share_range
from rootbound_service.replay.followed import WITHIN_DAYS, Followed, followed
from rootbound_service.replay.judge import Judged, judge
from rootbound_service.replay.report.chance_facts import Chances, chances_of
from rootbound_service.replay.values import Played
from seasons.baselines import SEED, WET_MM
from seasons.field import CLASSES, LATER_YEARS, YEARS, YIELD_YEARS
from seasons.trial import Figures, Trial


def of_classes(trial: Trial) -> str:
    """A row a wall class: how often it ran short, how early the word came, how many notes.

    Parameters
    ----------
    trial
        All seasons played.
    """
    head = (
        "| wall class found on 1 June | years | seasons that ran short | first word before that: "
        "median (least) | without a word before | warned in vain (tight or above) "
        "| rises a season (most) | notes a season (most) |"
    )
    rows = [
        _of_class(trial, wall_class, years, label)
        for wall_class in CLASSES
        for years, label in ((YIELD_YEARS, "1987-2004"), (LATER_YEARS, "2005-2020"))
    ]
    return "\n".join((head, "| --- | --- |" + " ---: |" * 6, *rows))


def _of_class(trial: Trial, wall_class: int, years: Sequence[int], label: str) -> str:
    judged = trial.judged(wall_class, "held", years)
    short = [one for one in judged if one.ran_short]
    leads = [lead for one in short if (lead := one.lead[0]) is not None and lead >= 0]
    vain = [one.year for one in judged if one.reached(2) and not one.ran_short]
    early = f"{median(leads):.0f} days ({min(leads)})" if leads else "–"
    name = "0, as free roots" if wall_class == 0 else str(wall_class)
    return (
        f"| {name} | {label} | {len(short)} of {len(judged)} | {early} "
        f"| {len(short) - len(leads)} | {len(vain)} | {_mean_most([x.rises for x in judged])} "
        f"| {_mean_most([x.notes for x in judged])} |"
    )


def _mean_most(counts: list[int]) -> str:
    return f"{np.mean(counts):.1f} ({max(counts)})"


def meant(trial: Trial) -> str:
    """How often a rise to a rung was followed by running short, all wall classes together.

    Parameters
    ----------
    trial
        All seasons played.
    """
    rows = [_meant(one) for one in followed([(one, "held") for one in trial.played])]
    head = (
        f"| rung | nights on it | of these, ran short within {WITHIN_DAYS} days | rises to it "
        f"| of these, ran short within {WITHIN_DAYS} days (95 %) |"
    )
    return "\n".join((head, "| --- |" + " ---: |" * 4, *rows))


def _meant(one: Followed) -> str:
    nights = f"{100 * one.nights_followed / one.nights:.0f} %" if one.nights else "–"
    bounds = share_range(one.rises_followed, one.rises)
    rises = "–"
    if bounds is not None and one.rises:
        rises = (
            f"{100 * one.rises_followed / one.rises:.0f} % "
            f"({100 * bounds[0]:.0f}-{100 * bounds[1]:.0f})"
        )
    name = f"{one.rung} {RUNG_NAMES[one.rung]}"
    return f"| {name} | {one.nights} | {nights} | {one.rises or '–'} | {rises} |"


def chances(trial: Trial) -> tuple[Chances, ...]:
    """What the chances of all nights were worth, all wall classes together."""
    seasons = [(one, "held") for one in trial.played]
    return chances_of(seasons, np.random.default_rng(SEED))


def said_of(found: Chances) -> str:
    """One kind of chance in a sentence and a table.

    Parameters
    ----------
    found
        From :func:`chances`.
    """
    head = f"| chance of a stress day or more in {found.days} days, as said | nights "
    head += "| mean said | came (95 %) |"
    rows = [
        f"| {one.low:.0%} to {one.high:.0%} | {one.nights} | {one.said:.0%} | {one.came:.0%}"
        + (
            " |"
            if one.came_low is None or one.came_high is None
            else f" ({one.came_low:.0%}-{one.came_high:.0%}) |"
        )
        for one in found.classes
    ]
    low, high = found.skill or (float("nan"), float("nan"))
    line = (
        f"Against always saying {found.base:.0%}, the share of nights after which it came, these "
        f"chances save {found.brier.skill:.0%} of the squared error (95 %: {low:.0%} to "
        f"{high:.0%}; {found.with_event} of {found.seasons} years had it)."
    )
    return "\n".join((head, "| --- |" + " ---: |" * 3, *rows)) + f"\n\n{line}"


def by_year(trial: Trial, found: Figures) -> str:
    """Every season of free roots, with its yield where there is one.

    Parameters
    ----------
    trial, found
        Seasons and figures.
    """
    yields = dict(zip(found.years, found.share, strict=True))
    head = (
        "| year | rain May-August, mm | yield against trend | stress days | weighted, % "
        "| highest rung | first word | ran short | notes |"
    )
    rows = [
        _year(one, judge(one, "free"), yields.get(one.year))
        for one in trial.played
        if one.wall_class == 0 and one.year in YEARS
    ]
    return "\n".join((head, "| --- |" + " ---: |" * 4 + " --- |" * 4, *rows))


def _year(played: Played, judged: Judged, share: float | None) -> str:
    notes = ", ".join(
        f"{_day(night.night)} {night.free.note}"
        for night in played.nights
        if night.free.note is not None
    )
    wet = " (wet)" if played.rain_mm >= WET_MM else ""
    anomaly = "–" if share is None else f"{share:+.0%}"
    return (
        f"| {played.year} | {played.rain_mm:.0f}{wet} | {anomaly} | {judged.stress:.1f} "
        f"| {judged.weighted:.0f} | {judged.worst} {RUNG_NAMES[judged.worst]} "
        f"| {_day(judged.first[0])} | {_day(judged.onset)} | {notes or '–'} |"
    )


def _day(day: object) -> str:
    return "–" if day is None else f"{day:%d %b}"


def without_each(found: Figures) -> str:
    """The first word's lead with each season left out in turn.

    Parameters
    ----------
    found
        Figures.
    """
    leads = list(found.leads)
    medians = [median(leads[:k] + leads[k + 1 :]) for k in range(len(leads))]
    least = sorted(leads)
    return (
        f"Leads of the {len(leads)} seasons in which free roots ran short: "
        f"{', '.join(map(str, sorted(leads)))} days. With any one of them left out the median is "
        f"{min(medians):.0f} to {max(medians):.0f} days and the least {least[0]} to {least[1]}."
    )
