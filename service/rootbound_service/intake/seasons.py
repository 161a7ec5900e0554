"""A season to be traced by itself, past or present: a field without longitude or people."""

from __future__ import annotations

from collections.abc import Mapping

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.check import try_check
from rootbound_service.intake.digs import dig_records
from rootbound_service.intake.forms import SeasonForm
from rootbound_service.intake.labels import toml_key
from rootbound_service.intake.toml_file import digs_of, flat
from rootbound_service.records import DigRecord


def season_from(document: Mapping[str, object]) -> tuple[SeasonForm, tuple[DigRecord, ...]]:
    """Check the season in a field's TOML document; longitude and people may be absent.

    Parameters
    ----------
    document
        From :func:`rootbound_service.intake.toml_file.read_field_toml`.

    Returns
    -------
    tuple[SeasonForm, tuple[DigRecord, ...]]
        The season's form and its digs by day.

    Raises
    ------
    RefusedInput
        With every problem of season and digs.
    """
    values = {name: value for name, value in flat(document).items() if name in _KNOWN}
    form, problems = try_check(SeasonForm, values, toml_key)
    digs, dig_problems = dig_records(digs_of(document), planted=form.planted if form else None)
    if form is None or dig_problems:
        raise RefusedInput(problems + dig_problems)
    return form, digs


_KNOWN = SeasonForm.model_fields.keys()
