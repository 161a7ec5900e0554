"""From what was given to the record of a field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from rootbound_rules.season.values import FieldSeason
from rootbound_service.errors import RefusedInput, ServiceError
from rootbound_service.intake.check import try_check
from rootbound_service.intake.digs import dig_records
from rootbound_service.intake.forms import CropForm, FieldForm, SoilForm
from rootbound_service.intake.labels import plain
from rootbound_service.intake.limits import CM_PER_INCH
from rootbound_service.intake.place import day_there, time_zone_of
from rootbound_service.intake.wrong import Label
from rootbound_service.records import DigRecord, FieldRecord, Person, Role, SoilRecord

USUAL: dict[str, Any] = {item.name: item.default for item in fields(FieldSeason)}
"""What the rules take where nothing is given."""


def field_record(
    values: Mapping[str, object],
    *,
    today: date,
    label: Label = plain,
    digs: Sequence[Mapping[str, object]] = (),
) -> FieldRecord:
    """Make the record of a field to be enrolled.

    Parameters
    ----------
    values
        What was given by flat name (``sections.SECTIONS``), as text or as typed values.
    today
        The day up to which planting and digs may lie; an aware moment is read on the
        field's own calendar.
    label
        Names a value the way the person wrote it.
    digs
        Dig cards that come with the field.

    Returns
    -------
    FieldRecord
        Complete, not stored.

    Raises
    ------
    RefusedInput
        With every problem of the field and its digs.
    """
    day = day_there(today, values)
    form, problems = try_check(FieldForm, values, label, today=day)
    planted = form.planted if form else None
    cards, dig_problems = dig_records(digs, planted=planted, today=day)
    if form is None or dig_problems:
        raise RefusedInput(problems + dig_problems)
    return _record(form, cards)


def _record(form: FieldForm, digs: tuple[DigRecord, ...]) -> FieldRecord:
    zone = time_zone_of(form.lat, form.lon)
    if zone is None:  # the form has refused such a place
        raise ServiceError(f"no time zone at lat {form.lat:g}, lon {form.lon:g}")
    return FieldRecord(
        name=form.name,
        lat=form.lat,
        lon=form.lon,
        elevation_m=form.elevation_m,
        row_spacing_cm=row_spacing_cm(form),
        time_zone=zone,
        grower=_person(form.grower, "grower", form, zone),
        adviser=_person(form.adviser, "adviser", form, zone) if form.adviser else None,
        soil=soil_record(form),
        crop=form.crop,
        planted=form.planted,
        black_layer_gdd_f=form.black_layer_gdd_f,
        seed_depth_cm=seed_depth_cm(form),
        irrigated=form.irrigated,
        digs=digs,
    )


def _person(who: tuple[str, str], role: Role, form: FieldForm, zone: str) -> Person:
    return Person(who[0], who[1], role, units=form.units, time_zone=zone)


def soil_record(form: SoilForm) -> SoilRecord:
    """Take the soil out of a form; what was not given keeps the record's own default."""
    names = [item.name for item in fields(SoilRecord) if item.name in SoilForm.model_fields]
    given = {name: getattr(form, name) for name in names}
    return SoilRecord(**{name: value for name, value in given.items() if value is not None})


def row_spacing_cm(form: CropForm) -> float:
    """Row spacing of a form in the one unit we keep. [cm]"""
    return _in_cm(form.row_spacing_cm, form.row_spacing_in, "row_spacing_cm")


def seed_depth_cm(form: CropForm) -> float:
    """Seed depth of a form in the one unit we keep. [cm]"""
    return _in_cm(form.seed_depth_cm, form.seed_depth_in, "seed_depth_cm")


def _in_cm(centimetres: float | None, inches: float | None, name: str) -> float:
    if centimetres is not None:
        return centimetres
    return round(inches * CM_PER_INCH, 4) if inches is not None else float(USUAL[name])
