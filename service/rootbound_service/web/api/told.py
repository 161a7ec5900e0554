"""From the service's records to what the API gives."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from rootbound_service.nights.row_facts import hold_of
from rootbound_service.store.soil_record import NAMES
from rootbound_service.web.api.shapes import (
    DaysAheadOut,
    DigOut,
    FieldOut,
    HoldDayOut,
    HoldOut,
    NoteOut,
    ObservationOut,
    SeasonOut,
    StandingOut,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from rootbound_service.nights.pictures import SeasonPicture
    from rootbound_service.records import (
        DigRecord,
        FieldRecord,
        NoteRecord,
        ObservationRecord,
        RiskRecord,
    )


def field_out(one: FieldRecord, row: RiskRecord | None) -> FieldOut:
    """Give a field.

    Parameters
    ----------
    one
        The field.
    row
        Of its last night; None before the first.
    """
    return FieldOut(
        id=one.id,
        name=one.name,
        lat=one.lat,
        lon=one.lon,
        elevation_m=one.elevation_m,
        time_zone=one.time_zone,
        irrigated=one.irrigated,
        grower=one.grower.name,
        adviser=one.adviser.name if one.adviser else None,
        crop=one.crop,
        planted=one.planted,
        row_spacing_cm=one.row_spacing_cm,
        seed_depth_cm=one.seed_depth_cm,
        black_layer_gdd_f=one.black_layer_gdd_f,
        soil={name: getattr(one.soil, name) for name in NAMES} | {"origin": one.soil.origin},
        digs=len(one.digs),
        standing=None if row is None else standing_out(row),
    )


def standing_out(row: RiskRecord) -> StandingOut:
    """Give how a field stands.

    Parameters
    ----------
    row
        Of a night.
    """
    hold = hold_of(row)
    return StandingOut(
        night=row.night,
        status=row.status,
        rung=row.rung,
        free_rung=row.free_rung,
        reason=row.reason,
        stage=row.stage,
        gdd_f=row.gdd_f_total,
        water_in_reach_mm=row.water_in_reach_mm,
        free_water_mm=row.free_water_mm,
        days_ahead=DaysAheadOut(
            kind=row.days_ahead_kind,
            median=row.days_ahead_median,
            low=row.days_ahead_low,
            high=row.days_ahead_high,
        ),
        rain_to_hold=None
        if hold is None
        else HoldOut(
            kind=hold.kind,
            days=[HoldDayOut(day=d.day, mm=d.mm, low_mm=d.low, high_mm=d.high) for d in hold.days],
        ),
        chance_7_days=row.chance_7,
        chance_14_days=row.chance_14,
        stress_days_season=row.stress_season,
        reach=row.reach,
        weather_through=row.weather_through,
    )


def dig_out(card: DigRecord) -> DigOut:
    """Give a dig card."""
    values = asdict(card)
    values["date"] = card.dug_on
    return DigOut(**{name: values[name] for name in DigOut.model_fields})


def observation_out(one: ObservationRecord) -> ObservationOut:
    """Give an observation."""
    values = asdict(one)
    return ObservationOut(**{name: values[name] for name in ObservationOut.model_fields})


def note_out(note: NoteRecord, field_id: int, *, evidence: bool = False) -> NoteOut:
    """Give a note.

    Parameters
    ----------
    note
        The note.
    field_id
        Of its field.
    evidence
        Whether to give all it rests on.
    """
    return NoteOut(
        id=note.id,
        field_id=field_id,
        night=note.night,
        from_rung=note.from_rung,
        to_rung=note.to_rung,
        reason=note.reason,
        evidence=note.evidence if evidence else None,
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
        stages=list(picture.stages),
    )


def _list(values: NDArray[np.float64] | None) -> list[float]:
    return [] if values is None else [round(float(one), 3) for one in values]
