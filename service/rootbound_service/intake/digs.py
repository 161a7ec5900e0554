"""From what was given to the record of a dig."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.check import check
from rootbound_service.intake.forms import DigForm
from rootbound_service.intake.labels import plain, toml_dig
from rootbound_service.intake.wrong import Label
from rootbound_service.records import DigRecord


def dig_record(
    values: Mapping[str, object],
    *,
    planted: date | None,
    today: date | None = None,
    label: Label = plain,
) -> DigRecord:
    """Make the record of one dig card.

    Parameters
    ----------
    values
        What was given by name (``sections.DIG_KEYS``), as text or as typed values.
    planted
        Planting day of the season; None where it is not known yet.
    today
        The day at the field; None allows any.
    label
        Names a value the way the person wrote it.

    Returns
    -------
    DigRecord
        Complete, not stored.

    Raises
    ------
    RefusedInput
        With every problem of the card.
    """
    form = check(DigForm, values, label, planted=planted, today=today)
    return DigRecord(
        dug_on=form.date,
        wall_class=form.wall_class,
        plants=form.plants,
        crossing=form.crossing,
        held=form.held,
        pan_class=form.pan_class,
        pan_depth_cm=form.pan_depth_cm if form.pan_class else None,
        seed_depth_cm=form.seed_depth_cm,
        soil_moisture=form.soil_moisture,
        note=form.note,
        form_id=form.form_id,
    )


def dig_records(
    cards: Sequence[Mapping[str, object]], *, planted: date | None, today: date | None = None
) -> tuple[tuple[DigRecord, ...], tuple[Problem, ...]]:
    """Make the records of all dig cards of a file; one wrong card hides no other.

    Parameters
    ----------
    cards, planted, today
        See :func:`dig_record`.

    Returns
    -------
    tuple[tuple[DigRecord, ...], tuple[Problem, ...]]
        The good cards by day, and every problem of the others.
    """
    good: list[DigRecord] = []
    problems: list[Problem] = []
    for number, card in enumerate(cards, 1):
        try:
            label = toml_dig(number)
            good.append(dig_record(card, planted=planted, today=today, label=label))
        except RefusedInput as refused:
            problems += refused.problems
    return tuple(sorted(good, key=lambda dig: dig.dug_on)), tuple(problems)
