"""``rootbound observe``: what a person measured, saw or did on a field."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.records import FieldRecord, ObservationRecord

Text = str | None
FieldName = Annotated[str, typer.Argument(metavar="FIELD", help="Name or number of the field.")]
Rain = Annotated[
    Text,
    typer.Option(metavar="DEPTH", help="Rain in the gauge, as '0.8 in' or '20 mm'; 0 for none."),
]
Irrigated = Annotated[Text, typer.Option(metavar="DEPTH", help="Water given, as '1 in'.")]
Rolled = Annotated[
    bool | None, typer.Option("--rolled/--not-rolled", help="Leaves rolled at noon, or not.")
]
Harvested = Annotated[bool, typer.Option("--harvested", help="The crop is off the field.")]
On = Annotated[
    Text,
    typer.Option("--on", metavar="YYYY-MM-DD", help="Day it fell, was seen or done; else today."),
]
Morning = Annotated[
    bool,
    typer.Option(
        "--morning", help="The gauge was read that morning: its rain is of the day before."
    ),
]
By = Annotated[Text, typer.Option(metavar="NAME", help="Who saw or did it.")]
Note = Annotated[Text, typer.Option(metavar="TEXT", help="Anything else, such as the hour.")]
Withdraw = Annotated[
    Text, typer.Option(metavar="ID", help="Take back what was recorded under this id.")
]

FLAGS = {"date": "--on", "irrigation": "--irrigated"}
WITH_WITHDRAW = ("withdraw", "by", "note")


def observe(  # noqa: PLR0913, PLR0917  a flag each
    ctx: typer.Context,
    field: FieldName,
    rain: Rain = None,
    irrigated: Irrigated = None,
    rolled: Rolled = None,
    harvested: Harvested = False,  # noqa: FBT002  a switch on the command line
    on: On = None,
    morning: Morning = False,  # noqa: FBT002  a switch on the command line
    by: By = None,
    note: Note = None,
    withdraw: Withdraw = None,
) -> None:
    """Record what was measured, seen or done on a field, or list what is recorded.

    Rain counts on the day it fell; it takes the place of the weather grid's there. Nothing
    is ever changed: --withdraw takes a slip back, then record it anew. Whoever goes to look:
    mind heat and machinery, and keep to the re-entry times on pesticide labels.
    """
    told: dict[str, object] = {
        "rain": rain,
        "irrigation": irrigated,
        "rolled": rolled,
        "harvested": harvested or None,
        "date": on,
        "morning": morning or None,
        "by": by,
        "note": note,
        "withdraw": withdraw,
    }
    given = {name: value for name, value in told.items() if value is not None}
    session = session_of(ctx)
    with session.service() as service:
        from rootbound_service.store.fields import find_field

        with service.engine.begin() as conn:
            found = find_field(conn, field)
            if withdraw is not None:
                lines = _withdraw(conn, found, given, session.now())
            elif given:
                lines = _record(conn, found, given, session.now())
            else:
                lines = []
        for line in lines:
            typer.echo(line)
        if not lines:
            with service.engine.connect() as conn:
                _list(conn, found)


def _record(
    conn: Connection, field: FieldRecord, given: dict[str, object], now: datetime
) -> list[str]:
    """Check and store; say what counts."""
    from zoneinfo import ZoneInfo

    from rootbound_service.intake.labels import flag
    from rootbound_service.intake.observations import observation_records
    from rootbound_service.intake.observations_keep import keep_typed

    values = {"date": now.astimezone(ZoneInfo(field.time_zone)).date(), **given}
    records = observation_records(
        values, field, now, label=lambda name: FLAGS.get(name, flag(name))
    )
    stored = keep_typed(conn, field.season_id, records)
    return [_recorded(one, field, again=one.recorded_at != now) for one in stored]


def _recorded(record: ObservationRecord, field: FieldRecord, *, again: bool) -> str:
    from rootbound_service.notes.en.seen_words import what_text

    verb = "Already recorded" if again else "Recorded"
    what = what_text(record, field.grower.units)
    return (
        f"{verb} for {field.name}, {record.day}: {what}, by {record.by} (id {record.id}). "
        "It counts from the next night on."
    )


def _withdraw(
    conn: Connection, field: FieldRecord, given: dict[str, object], now: datetime
) -> list[str]:
    """Take one observation back."""
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.intake.labels import flag
    from rootbound_service.intake.observations import withdrawal
    from rootbound_service.notes.en.seen_words import what_text
    from rootbound_service.store.observations import add_observation

    beside = [FLAGS.get(name, f"--{name}") for name in given if name not in WITH_WITHDRAW]
    if beside:
        wanted = f"withdraw first, then record {', '.join(beside)} in a second command"
        raise RefusedInput((Problem("--withdraw", "stands alone", wanted),))
    row = withdrawal(given, field, now, flag)
    add_observation(conn, field.season_id, row)
    old = next((one for one in field.observations if one.id == row.withdraws), None)
    if old is None:
        return [f"Observation {row.withdraws} of {field.name} had been withdrawn already."]
    what = what_text(old, field.grower.units)
    return [f"Withdrew from {field.name}, {old.day}: {what}, by {old.by}. It stays in the list."]


def _list(conn: Connection, field: FieldRecord) -> None:
    """Everything recorded this season, or what could be."""
    from rootbound_service.cli.observed_lines import HEADS, none_yet, rows_of
    from rootbound_service.cli.screen import print_table
    from rootbound_service.notes.en.seen_words import CARE
    from rootbound_service.store.observations import every_observation

    every = every_observation(conn, field.season_id)
    if not every:
        typer.echo(none_yet(field))
    else:
        typer.echo(f"Recorded for {field.name} this season")
        print_table(HEADS, list(rows_of(every, field)), whole=("id", "day"))
    typer.echo(CARE)
