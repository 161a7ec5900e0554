"""The figures by which a warning service stands or falls, beside what was wanted."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean, median

from rootbound_service.replay.skill import Range
from seasons import roots, sensors
from seasons.ablation import Variant
from seasons.trial import Figures


@dataclass(frozen=True, slots=True)
class Goal:
    """One figure."""

    what: str
    before: str
    now: str
    wanted: str
    met: bool | None
    """None: there was no goal."""


def goals(
    found: Figures,
    variants: tuple[Variant, ...],
    cored: roots.Measured,
    sensed: sensors.Measured,
) -> tuple[Goal, ...]:
    """Set every figure beside its goal.

    Parameters
    ----------
    found
        Of the seasons played.
    variants
        Makes of the model; the first is the one before.
    cored, sensed
        Roots and soil water.
    """
    was = variants[0]
    dry, best = found.dry.pearson, found.best
    lead, least = median(found.leads), min(found.leads)
    rises, most = fmean(found.rises), max(found.rises)
    rmse = sensed.fits["tapered"].rmse
    return (
        Goal(
            "correlation of weighted stress with the yield's anomaly, seasons under 600 mm",
            _ranged(was.dry.pearson), _ranged(dry), "-0.80 or better",
            dry is not None and dry.value <= -0.80,
        ),
        Goal(
            "the same, each year predicted by the others (1 perfect, 0 a usual year)",
            _signed(was.left_out), _signed(found.left_out.left_out), "no goal", None,
        ),
        Goal(
            "best third of yields: seasons with free roots short for 7 nights or more",
            f"{was.best.alarmed} of {was.best.seasons}", f"{best.alarmed} of {best.seasons}",
            "under 10 %", (best.share or 0.0) < 0.10,
        ),
        Goal(
            "first word before free roots run short, seasons that do",
            "10-17 days", f"median {lead:.0f} days, {least} at the least",
            "median 14, never under 7", lead >= 14 and least >= 7,
        ),
        Goal(
            "rises a season, free roots", "0-6 without hysteresis",
            f"{rises:.1f} on average, {most} at the most (over 4 in "
            f"{sum(one > 4 for one in found.rises)} of {len(found.rises)})",
            "under 2, never over 4",
            rises < 2.0 and most <= 4,
        ),
        Goal(
            "seasons at trend or above in which free roots were shown above drawing down",
            "6 of 12", f"{len(found.good_but_warned)} of {int((found.share >= 0).sum())}",
            "under 3", len(found.good_but_warned) < 3,
        ),
        Goal(
            "root depth, mean of cores June-August", "30-50 % too deep",
            f"{100 * (cored.mean_ratio() - 1):+.0f} % "
            f"({100 * (cored.mean_ratio(2018) - 1):+.0f} % in 2018, "
            f"{100 * (cored.mean_ratio(2019) - 1):+.0f} % in 2019)",
            "within 15 %", abs(cored.mean_ratio() - 1.0) <= 0.15,
        ),
        Goal(
            "soil water at 15-45 cm against sensors of 2018, RMSE", "not measured",
            f"{rmse:.3f} m3/m3, read as roots take it; {sensed.fits['even'].rmse:.3f} read evenly",
            "under 0.04", rmse < sensors.GOAL,
        ),
    )  # fmt: skip


def table(rows: tuple[Goal, ...]) -> str:
    """The goals as a table.

    Parameters
    ----------
    rows
        From :func:`goals`.
    """
    head = "| figure | before | now | wanted | met |\n| --- | --- | --- | --- | --- |"
    lines = [
        f"| {one.what} | {one.before} | **{one.now}** | {one.wanted} | "
        f"{'–' if one.met is None else 'yes' if one.met else 'no'} |"
        for one in rows
    ]
    return "\n".join((head, *lines))


def _ranged(found: Range | None) -> str:
    if found is None:
        return "too few to say"
    return f"{found.value:+.2f} ({found.low:+.2f} to {found.high:+.2f})"


def _signed(value: float | None) -> str:
    return "too few to say" if value is None else f"{value:+.2f}"
