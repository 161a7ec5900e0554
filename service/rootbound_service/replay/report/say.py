"""Numbers, days and shares as the report writes them."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.notes import units as in_units

if TYPE_CHECKING:
    from rootbound_service.records import Units
    from rootbound_service.replay.contingency import Seasons
    from rootbound_service.replay.skill import Range

TOO_FEW = "too few to say"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(when: date) -> str:
    """A day of the season: ``5 Jul``."""
    return f"{when.day} {MONTHS[when.month - 1]}"


def days(many: float, what: str = "") -> str:
    """A number of days: ``1 day``, ``12 days``, ``1.5 stress days``."""
    return f"{many:g} {what}day{'' if many == 1 else 's'}"


def number(value: float | None) -> str:
    """A whole number, or a dash for none."""
    return "–" if value is None else f"{value:.0f}".replace("-", "−")


def percent(share: float | None, *, sign: bool = False) -> str:
    """A share in per cent, or a dash for none."""
    if share is None:
        return "–"
    return (f"{100 * share:+.0f} %" if sign else f"{100 * share:.0f} %").replace("-", "−")


def share_of(count: int, cases: int) -> str:
    """A share with its counts and 95 % interval: ``4 of 5 (38 to 96 %)``."""
    from rootbound_service.replay.contingency import share_range

    ends = share_range(count, cases)
    if ends is None:
        return "none"
    return f"{count} of {cases} ({100 * ends[0]:.0f} to {100 * ends[1]:.0f} %)"


def water(mm: float, units: Units) -> str:
    """Depth of water in the reader's unit; ``mm`` in mm."""
    return in_units.water(mm, units)


def ranged(found: Range | None) -> str:
    """A figure with its 95 % interval."""
    if found is None:
        return TOO_FEW
    text = f"{found.value:+.2f} ({found.low:+.2f} to {found.high:+.2f})"
    return text.replace("-", "−")


def signed(value: float | None) -> str:
    """A figure with its sign, or that there is too little to say."""
    return TOO_FEW if value is None else f"{value:+.2f}".replace("-", "−")


def scores(seasons: Seasons) -> str:
    """What a table of warnings and events comes to, or that it is too few to say."""
    if not seasons.enough:
        return TOO_FEW
    return (
        f"{percent(seasons.detected)} detected, {percent(seasons.false_alarm_ratio)} of warnings "
        f"in vain, Peirce score {signed(seasons.peirce)}"
    )
