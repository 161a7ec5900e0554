"""In which order to dig the fields that nobody has dug yet.

An order to dig, never a rating: planted wet and dry afterwards is a reason to look, and a
wall is known by the spade alone. The figure behind the order stays in here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from rootbound_rules.numeric import clip
from rootbound_rules.risk.dig_window import DigWindow
from rootbound_rules.risk.spring import Spring
from rootbound_rules.tables import load_table

_TURN = {"open": 0, "late": 1, "unknown": 2, "ahead": 3, "none": 4, "past": 5}
"""What can be dug comes first: an open window, then one just missed, then one to come."""


class DigReason(StrEnum):
    """Why a field comes where it comes."""

    PLANTED_WET = "planted_wet"
    RAIN_BEFORE = "rain_before"
    DRY_SPELL = "dry_spell"
    TOP_DRY = "top_dry"
    FINE_SOIL = "fine_soil"
    NOT_KNOWN = "not_known"
    """Weather or soil cannot be read."""


@dataclass(frozen=True, slots=True)
class Undug:
    """One field without a dig.

    ``spring`` is None where its weather cannot be read, and where it no longer matters:
    past the window and for a crop without one.
    """

    field_id: int
    window: DigWindow
    spring: Spring | None


@dataclass(frozen=True, slots=True)
class FirstDig:
    """One place in the order."""

    field_id: int
    place: int
    """1 is to be dug first."""
    window: DigWindow
    spring: Spring | None
    reasons: tuple[DigReason, ...]
    """In the order of the chain: water at planting, dryness since, soil."""


def order_digs(fields: Sequence[Undug]) -> tuple[FirstDig, ...]:
    """Put the fields without a dig in the order in which to dig them.

    Fields whose window is open come first, then those just past it, then those to come.
    Within these the more points to a smeared and hardened slot the earlier, in coarse bands;
    of two in one band the one whose window turns sooner, then the one that cannot be
    watered: no source weighs irrigation, but it can keep a wall moist.

    Parameters
    ----------
    fields
        In any order.

    Returns
    -------
    tuple of FirstDig
        All of them, one place each.
    """
    ordered = sorted(fields, key=_turn)
    return tuple(
        FirstDig(one.field_id, place, one.window, one.spring, _reasons(one))
        for place, one in enumerate(ordered, 1)
    )


def reasons_of(spring: Spring) -> tuple[DigReason, ...]:
    """Name what points to a dig; none where nothing does.

    Parameters
    ----------
    spring
        One field's.
    """
    rows = load_table("dig_list")
    enough = rows.number("named.from")
    scales = (
        (DigReason.PLANTED_WET, _water_scale(spring), enough),
        (DigReason.RAIN_BEFORE, _rain_scale(spring), enough),
        (DigReason.DRY_SPELL, _spell_scale(spring), enough),
        (DigReason.TOP_DRY, spring.top_dry, rows.number("named.top_dry")),
        (DigReason.FINE_SOIL, _clay_scale(spring), enough),
    )
    return tuple(reason for reason, scale, least in scales if scale >= least)


def _reasons(one: Undug) -> tuple[DigReason, ...]:
    """Reasons of one field, as far as they matter."""
    if one.spring is None:
        return () if one.window.state in {"past", "none"} else (DigReason.NOT_KNOWN,)
    return reasons_of(one.spring)


def _turn(one: Undug) -> tuple[int, int, bool, float, bool, float, int]:
    """Sort key of one field; of those to which little points the unknown come first."""
    spring, days = one.spring, one.window.days
    weight = 0.0 if spring is None else _weight(spring)
    return (
        _TURN[one.window.state],
        -int(weight * load_table("dig_list").number("bands")),
        spring is not None,
        inf if days is None else days,
        spring is not None and spring.irrigated,
        -weight,
        one.field_id,
    )


def _weight(spring: Spring) -> float:
    """How much points to a dig; a product, for wet without dry and dry without wet do little."""
    rows = load_table("dig_list")
    least = rows.number("dry.share_without")
    dry = _spell_scale(spring) * 0.5 * (1.0 + clip(spring.top_dry, 0.0, 1.0))
    coarse = rows.number("texture.least")
    soil = coarse + (1.0 - coarse) * _clay_scale(spring)
    return _wet(spring) * (least + (1.0 - least) * dry) * soil


def _wet(spring: Spring) -> float:
    """How wet it was at planting, by water content and rain together. [0-1]"""
    rain = load_table("dig_list").number("wet.rain_weight") * _rain_scale(spring)
    return 1.0 - (1.0 - _water_scale(spring)) * (1.0 - rain)


def _water_scale(spring: Spring) -> float:
    """Water content at planting between its two rows. [0-1]"""
    rows = load_table("dig_list")
    return _between(
        spring.planted_share, rows.number("wet.least_share"), rows.number("wet.full_share")
    )


def _rain_scale(spring: Spring) -> float:
    """Rain before and on planting day against its row. [0-1]"""
    rain = spring.rain_before_mm + spring.rain_planting_mm
    return _between(rain, 0.0, load_table("dig_list").number("wet.full_rain_mm"))


def _spell_scale(spring: Spring) -> float:
    """Longest dry spell since planting against its row. [0-1]"""
    return _between(spring.longest_dry, 0.0, load_table("dig_list").number("dry.full_days"))


def _clay_scale(spring: Spring) -> float:
    """Clay between its two rows. [0-1]"""
    rows = load_table("dig_list")
    coarse, fine = rows.number("texture.coarse_clay_pct"), rows.number("texture.fine_clay_pct")
    return _between(spring.clay_pct, coarse, fine)


def _between(value: float, low: float, high: float) -> float:
    """Position of a value between two others, held within them. [0-1]"""
    return clip((value - low) / (high - low), 0.0, 1.0)
