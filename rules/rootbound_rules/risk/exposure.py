"""How sensitive a crop is to the stress it had and may have: published ranges, no forecast.

The table's stress day is one on which leaves stay rolled overnight or roll again early in the
morning; stress-day equivalents are computed and may differ from it. Compaction costs in other
ways too. What comes out says what such a dry spell is published to cost on average crops; it
is never a promise about a field, and it is never turned into bushels.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import prod

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.stage_order import stage_order
from rootbound_rules.tables import load_table

CROP = "maize"
"""The only crop the table is for."""
CAVEAT = (
    "A published range of sensitivity to dry days, not a forecast of this field's yield: it is "
    "from other fields and years, and leaves out what else the season does."
)
NO_NUMBER = "Before V12 the published table gives no loss; a blank is not zero."

Stress = float | tuple[float, float, float]
"""Stress-day equivalents: one number, or low, middle and high of the outlook. [d]"""


@dataclass(frozen=True, slots=True)
class Share:
    """Part of an exposure that falls into one band of stages."""

    first_stage: str
    stress: tuple[float, float, float]
    """Stress-day equivalents, low, middle, high. [d]"""
    per_day: tuple[float, float, float]
    """Published loss per stress day: least, average, most. [%]"""


@dataclass(frozen=True, slots=True)
class Exposure:
    """Stress by stage times the published loss per stress day."""

    low: float
    middle: float
    high: float
    """Least, average and most of the published range, over the outlook's range. [%]"""
    shares: tuple[Share, ...]
    unpriced: float
    """Stress-day equivalents at stages for which the table is blank, middle. [d]"""
    caveat: str


def exposure(stages: Sequence[tuple[str, Stress]], crop: str = CROP) -> Exposure | None:
    """Multiply stress-day equivalents by the published loss per stress day.

    Parameters
    ----------
    stages
        Stage and the stress-day equivalents at it, in any order; a stage may come twice. [d]
    crop
        Whose stages.

    Returns
    -------
    Exposure or None
        A range in per cent; None for a crop without a published table.

    Raises
    ------
    RulesError
        If there is no such stage, or stress is negative or runs from high to low.

    References
    ----------
    ``rhoads_bennett_1990_lauer_2003``: days of stress times loss per stress day, by stage.
    """
    if crop != CROP:
        return None
    sums: dict[str, list[float]] = {}
    unpriced = 0.0
    for stage, stress in stages:
        three = _three(stage, stress)
        band = band_of(stage)
        if band is None:
            unpriced += three[1]
            continue
        held = sums.setdefault(band, [0.0, 0.0, 0.0])
        sums[band] = [a + b for a, b in zip(held, three, strict=True)]
    shares = tuple(
        Share(band, _triple(sums[band]), _per_day(band)) for band in loss_bands() if band in sums
    )
    low, middle, high = (
        min(sum(share.stress[i] * share.per_day[i] for share in shares), 100.0) for i in range(3)
    )
    caveat = f"{CAVEAT} {NO_NUMBER}" if unpriced > 0.0 else CAVEAT
    return Exposure(low, middle, high, shares, unpriced, caveat)


@cache
def loss_bands() -> tuple[str, ...]:
    """Return the stages at which a row of the loss table begins, in the order of the season."""
    keys = [key for key in load_table("exposure").rows if key.startswith("loss.")]
    return tuple(sorted((key.removeprefix("loss.") for key in keys), key=stage_order))


def band_of(stage: str) -> str | None:
    """Return the row of the loss table that holds at a stage; None where the table is blank.

    Parameters
    ----------
    stage
        A stage of maize.

    Raises
    ------
    RulesError
        If there is no such stage.
    """
    at = stage_order(stage, CROP)
    begun = [band for band in loss_bands() if stage_order(band, CROP) <= at]
    return begun[-1] if begun else None


def fao33_loss(ky: float, actual: float, full: float) -> float:
    """Relative loss of yield by the equation of FAO-33.

    Parameters
    ----------
    ky
        Yield response factor, row ``ky.*`` of ``data/exposure.toml``. [-]
    actual, full
        Evapotranspiration as it is, and without shortage. [mm]

    Returns
    -------
    float
        ``1 - Ya/Ym``, between 0 and 1. [-]

    Raises
    ------
    RulesError
        If ``full`` is not above zero, or ``actual`` not between zero and ``full``.

    References
    ----------
    ``fao33``: 1 - Ya/Ym = Ky (1 - ETa/ETm).
    """
    if not (full > 0.0 and 0.0 <= actual <= full):
        raise RulesError(f"evapotranspiration {actual} of {full} mm: give 0 <= actual <= full > 0")
    return min(ky * (1.0 - actual / full), 1.0)


def fao33_left(parts: Mapping[str, tuple[float, float]]) -> float:
    """Share of the yield that the stages together leave: the product over them.

    Parameters
    ----------
    parts
        By stage of FAO-33 (``vegetative``, ``flowering``, ``yield_formation``, ``ripening``):
        evapotranspiration as it is, and without shortage. [mm]

    Returns
    -------
    float
        ``Ya/Ym``, between 0 and 1. [-]

    References
    ----------
    ``fao33``, in the product form of Battisti and others 2013.
    """
    table = load_table("exposure")
    return prod(
        1.0 - fao33_loss(table.number(f"ky.{stage}"), actual, full)
        for stage, (actual, full) in parts.items()
    )


def _per_day(band: str) -> tuple[float, float, float]:
    """Published loss per stress day of a band: least, average, most. [%]"""
    return _triple(load_table("exposure").numbers(f"loss.{band}"))


def _three(stage: str, stress: Stress) -> tuple[float, float, float]:
    """Return low, middle and high of a stress, refused where they cannot be one."""
    low, middle, high = stress if isinstance(stress, tuple) else (stress, stress, stress)
    if not 0.0 <= low <= middle <= high:
        raise RulesError(f"stress at {stage} is {stress}; give days, 0 <= low <= middle <= high")
    return low, middle, high


def _triple(numbers: Sequence[float]) -> tuple[float, float, float]:
    """Return three numbers as a tuple of three."""
    low, middle, high = numbers
    return low, middle, high
