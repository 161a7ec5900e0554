"""From what was given to the records of what a person saw or did on a field."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.check import check
from rootbound_service.intake.labels import plain
from rootbound_service.intake.observations_form import ObservationForm, WithdrawalForm
from rootbound_service.intake.wrong import Label
from rootbound_service.records import FieldRecord, ObservationKind, ObservationRecord

KEYS = ("date", "rain", "irrigation", "rolled", "harvested", "morning", "by", "note")
TOLD = ("rain", "irrigation", "rolled", "harvested")
NOTHING_WANTED = "give rain, irrigation, rolled or harvested"


def observation_records(
    values: Mapping[str, object], field: FieldRecord, now: datetime, label: Label = plain
) -> tuple[ObservationRecord, ...]:
    """Make the records of one form; one form may tell of several things of one day.

    Parameters
    ----------
    values
        What was given by name (``KEYS``), as text or as typed values. Rain is of the day it
        fell on; with ``morning`` the gauge was read in the morning of ``date`` for the 24
        hours before, as weather observers of the US do, and the rain is of the day before.
    field
        Whose season it is of; its grower's units are those of a bare number.
    now
        When it came in, aware.
    label
        Names a value the way the person wrote it.

    Returns
    -------
    tuple of ObservationRecord
        Complete, not stored: at least one.

    Raises
    ------
    RefusedInput
        With every problem of the form.
    """
    today = now.astimezone(ZoneInfo(field.time_zone)).date()
    units = field.grower.units
    known = {"planted": field.planted, "today": today, "units": units, "crop": field.crop}
    form = check(ObservationForm, values, label, **known)
    found = [_record(form, kind, value, now) for kind, value in _told(form)]
    if not found:
        what = "nothing is given that was seen or done"
        raise RefusedInput((Problem(label("rain"), what, NOTHING_WANTED),))
    return tuple(found)


def withdrawal(
    values: Mapping[str, object], field: FieldRecord, now: datetime, label: Label = plain
) -> ObservationRecord:
    """Make the record that takes an observation back.

    Parameters
    ----------
    values
        ``withdraw``, its number; ``by``, who takes it back; ``note``, why, if they say so.
    field
        Whose season it is of. The store refuses a number that does not stand there.
    now
        When, aware.
    label
        Names a value the way the person wrote it.

    Returns
    -------
    ObservationRecord
        Not stored.

    Raises
    ------
    RefusedInput
        With every problem of the form.
    """
    form = check(WithdrawalForm, values, label)
    old = next((one for one in field.observations if one.id == form.withdraw), None)
    return ObservationRecord(
        kind=old.kind if old else "rain",
        day=old.day if old else now.date(),
        value=None,
        by=form.by,
        recorded_at=now,
        note=form.note,
        form_id=f"withdraw-{form.withdraw}",
        withdraws=form.withdraw,
    )


def as_new(record: ObservationRecord, rows: Iterable[ObservationRecord]) -> ObservationRecord:
    """Give a record typed or imported the form it has, so that the same one twice is one.

    Parameters
    ----------
    record
        To be stored.
    rows
        Every row of its season. What was withdrawn may be said anew: that is another form.
    """
    every = tuple(rows)
    gone = {one.withdraws for one in every}
    withdrawn = sum(
        1 for one in every if one.id in gone and (one.kind, one.day) == (record.kind, record.day)
    )
    said = (record.kind, record.day, record.value, record.by.casefold(), record.note, withdrawn)
    return replace(record, form_id="typed-" + hashlib.sha256(repr(said).encode()).hexdigest()[:32])


def _told(form: ObservationForm) -> list[tuple[ObservationKind, float | None]]:
    """What a form tells of, each with its value."""
    told: list[tuple[ObservationKind, float | None]] = []
    if isinstance(form.rain, float):
        told.append(("rain", form.rain))
    if isinstance(form.irrigation, float):
        told.append(("irrigation", form.irrigation))
    if form.rolled is not None:
        told.append(("rolled", float(form.rolled)))
    if form.harvested:
        given = form.harvest_yield
        told.append(("harvest", given if isinstance(given, float) else None))
    return told


def _record(
    form: ObservationForm, kind: ObservationKind, value: float | None, now: datetime
) -> ObservationRecord:
    """One record, rain read in the morning on the day before."""
    early = kind == "rain" and form.morning
    read = f"read in the morning of {form.date}" if early else ""
    return ObservationRecord(
        kind=kind,
        day=_day_before(form.date) if early else form.date,
        value=value,
        by=form.by,
        recorded_at=now,
        note="; ".join(text for text in (read, form.note) if text),
        form_id=f"{form.form_id}-{kind}" if form.form_id else "",
    )


def _day_before(day: date) -> date:
    return day - timedelta(days=1)
