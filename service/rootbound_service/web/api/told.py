"""From fields and their nights to what the API gives of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.nights.standing import facts_of
from rootbound_service.store.soil_record import NAMES
from rootbound_service.web.api.shapes import (
    DaysAheadOut,
    FieldOut,
    HoldDayOut,
    HoldOut,
    SeasonOut,
    SoilOut,
    StageOut,
    StandingOut,
)

if TYPE_CHECKING:
    from datetime import date

    import numpy as np
    from numpy.typing import NDArray

    from rootbound_rules.risk.rain_to_hold import ToHold
    from rootbound_service.nights.pictures import SeasonPicture
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import FieldRecord, RiskRecord


def field_out(
    one: FieldRecord, row: RiskRecord | None, today: date, stale_days: int, remark: str
) -> FieldOut:
    """Give a field.

    Parameters
    ----------
    one
        The field.
    row
        Of its last night; None before the first.
    today
        The day it is there.
    stale_days
        Weather older than this makes the field unknown. [d]
    remark
        Why less is told than a night finds; empty: nothing is left out.
    """
    facts = facts_of(one, row, today=today, stale_days=stale_days)
    soil = {name: getattr(one.soil, name) for name in NAMES}
    standing = None
    if facts is not None and row is not None:
        standing = standing_out(facts, row.night, remark)
    return FieldOut(
        id=one.id,
        name=one.name,
        lat=one.lat,
        lon=one.lon,
        elevation_m=one.elevation_m,
        time_zone=one.time_zone,
        irrigated=one.irrigated,
        grower_id=one.grower.id,
        grower=one.grower.name,
        adviser=one.adviser.name if one.adviser else None,
        crop=one.crop,
        planted=one.planted,
        row_spacing_cm=one.row_spacing_cm,
        seed_depth_cm=one.seed_depth_cm,
        black_layer_gdd_f=one.black_layer_gdd_f,
        soil=SoilOut(**soil, origin=one.soil.origin),
        digs=len(one.digs),
        standing=standing,
    )


def standing_out(facts: FieldFacts, night: date, remark: str = "") -> StandingOut:
    """Give how a field stands.

    Parameters
    ----------
    facts
        As of today.
    night
        The night they were found in.
    remark
        As for :func:`field_out`.
    """
    ahead = facts.days_ahead
    return StandingOut(
        night=night,
        status=facts.status,
        rung=facts.rung,
        free_rung=facts.free_rung,
        reason=facts.reason,
        stage=facts.stage,
        gdd_f=round(facts.gdd_f_total, 3),
        water_in_reach_mm=_round(facts.water_in_reach_mm),
        free_water_mm=_round(facts.free_water_mm),
        days_ahead=DaysAheadOut(
            kind=ahead.kind,
            median=_round(ahead.median),
            low=_round(ahead.low),
            high=_round(ahead.high),
        ),
        rain_to_hold=None if facts.rain_to_hold is None else _hold(facts.rain_to_hold),
        chance_7_days=_round(facts.chance_7),
        chance_14_days=_round(facts.chance_14),
        stress_past_7_days=_round(facts.stress_past_7),
        stress_season_days=_round(facts.stress_season),
        reach=_round(facts.reach),
        weather_through=facts.weather_through,
        remark=remark or None,
    )


def season_out(picture: SeasonPicture) -> SeasonOut:
    """Give a season's days.

    Parameters
    ----------
    picture
        As unpacked.
    """
    series = picture.series
    return SeasonOut(
        first=series.dates[0],
        rain_mm=_list(series.rain_mm),
        held_water_mm=_list(series.held_water_mm),
        free_water_mm=_list(series.free_water_mm),
        reach=_list(series.reach),
        held_stress_days=_list(picture.held_stress),
        free_stress_days=_list(picture.free_stress),
        ahead_first=series.ahead[0] if series.ahead else None,
        held_low_mm=_list(series.held_low_mm),
        held_middle_mm=_list(series.held_mid_mm),
        held_high_mm=_list(series.held_high_mm),
        free_middle_mm=_list(series.free_mid_mm),
        stages=[StageOut(stage=stage, day=day) for stage, day in picture.stages],
    )


def _hold(hold: ToHold) -> HoldOut:
    days = [
        HoldDayOut(day=one.day, mm=_round(one.mm), low_mm=_round(one.low), high_mm=_round(one.high))
        for one in hold.days
    ]
    return HoldOut(kind=hold.kind, days=days)


def _round(value: float | None) -> float | None:
    """To a thousandth, which is finer than anything here is known."""
    return None if value is None else round(value, 3) + 0.0  # no minus before a nought


def _list(values: NDArray[np.float64] | None) -> list[float]:
    return [] if values is None else [round(float(one), 3) for one in values]
