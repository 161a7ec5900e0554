"""``rootbound explain`` and ``rootbound notes``: what notes rest on, and which there are."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import PARTLY
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy import Connection

    from rootbound_service.nights.explain_note import Explained
    from rootbound_service.nights.explain_quiet import Asked
    from rootbound_service.records import NoteRecord

Json = Annotated[bool, typer.Option("--json", help="Print everything as JSON, for a program.")]


def explain(
    ctx: typer.Context,
    note: Annotated[
        int | None,
        typer.Argument(metavar="[NOTE]", help="Number of the note: rootbound notes."),
    ] = None,
    field: Annotated[
        str | None, typer.Option(metavar="FIELD", help="Name or number of a field.")
    ] = None,
    on: Annotated[
        str | None, typer.Option(metavar="YYYY-MM-DD", help="A night, with --field.")
    ] = None,
    as_json: Json = False,  # noqa: FBT002  (how typer declares a flag)
) -> None:
    """Compute a note again from its evidence and show every step.

    Or say why there was a note, or none: rootbound explain --field FIELD --on DATE.
    A note that does not come out the same to the digit under the same rules ends with 3.
    """
    if (note is None) == (field is None) or (field is None) != (on is None):
        message = "give a note, or --field and --on"
        raise typer.BadParameter(message, param_hint="NOTE")
    if note is not None:
        _explain_note(ctx, note, as_json=as_json)
    else:
        _explain_night(ctx, str(field), str(on), as_json=as_json)


def notes(
    ctx: typer.Context,
    field: Annotated[
        str | None, typer.Argument(metavar="[FIELD]", help="Name or number of one field.")
    ] = None,
) -> None:
    """List the notes of this season or of one field, latest first, with their numbers."""
    from rootbound_service.cli.screen import print_table
    from rootbound_service.nights.explain_verdict import rung_words
    from rootbound_service.store.fields import find_field, list_fields
    from rootbound_service.store.notes import notes_listed

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        asked = list_fields(conn) if field is None else [find_field(conn, field)]
        listed = notes_listed(conn, [one.season_id for one in asked])
    if not listed:
        typer.echo("No note has been decided yet: nothing rose above what people know.")
        return
    rows = [
        (str(one.id), str(one.night), name, rung_words(one.from_rung), rung_words(one.to_rung),
         one.reason.replace("_", " "))
        for one, name in listed
    ]  # fmt: skip
    print_table(("note", "night", "field", "from", "to", "reason"), rows, whole=("note", "night"))


def _explain_note(ctx: typer.Context, number: int, *, as_json: bool) -> None:
    """One note."""
    from rootbound_service.errors import RefusedInput
    from rootbound_service.nights.explain_note import explain as explained_of
    from rootbound_service.store.kept_weather import load
    from rootbound_service.store.notes import find_note, notes_listed

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        note = find_note(conn, number)
        named = note.evidence.get("past_fingerprint")
        packed = load(conn, named) if isinstance(named, str) else None
        ((_, name),) = notes_listed(conn, note_ids=[number])
    try:
        explained = explained_of(note, packed)
    except RefusedInput as error:
        if as_json:
            _print_json({"note": _note_told(note, name), "evidence": note.evidence,
                         "refused": str(error)})  # fmt: skip
        raise
    if as_json:
        _print_json(_note_json(note, name, explained))
    else:
        _print_note(note, name, explained)
    again = explained.again
    if again is not None and again.same_rules and not again.same:
        raise typer.Exit(PARTLY)


def _explain_night(ctx: typer.Context, asked_field: str, on: str, *, as_json: bool) -> None:
    """One field's night."""
    from rootbound_service.cli.explain_lines import filled, lines_of
    from rootbound_service.nights.explain_quiet import why_quiet

    session, night = session_of(ctx), _day(on)
    with session.service() as service, service.engine.connect() as conn:
        asked = _asked(conn, asked_field, night, session.now().date())
    quiet = why_quiet(asked)
    if as_json:
        _print_json({"field": asked.field.name, **asdict(quiet), "night": night.isoformat()})
        return
    typer.echo("\n".join((filled(quiet.text), *lines_of(quiet.steps))))


def _asked(conn: Connection, name: str, night: date, today: date) -> Asked:
    """Everything stored about one field's night, in the season of that night."""
    from rootbound_service.nights.explain_quiet import Asked
    from rootbound_service.store.fields import find_field, list_fields
    from rootbound_service.store.notes import notes_listed, was_run
    from rootbound_service.store.risk import risk_history

    found = find_field(conn, name)
    (then,) = [one for one in list_fields(conn, night) if one.id == found.id]
    return Asked(
        night=night,
        today=today,
        field=then,
        history=risk_history(conn, then.season_id),
        notes=[one for one, _ in notes_listed(conn, [then.season_id])],
        was_run=was_run(conn, night),
    )


def _day(given: str) -> date:
    """Read a day as people write it."""
    from datetime import date as day

    from rootbound_service.errors import Problem, RefusedInput

    try:
        return day.fromisoformat(given)
    except ValueError:
        problem = Problem("--on", f"{given!r} is no day", "write it as 2026-07-05")
        raise RefusedInput((problem,)) from None


def _print_note(note: NoteRecord, name: str, explained: Explained) -> None:
    """A note for a person."""
    from rootbound_service.cli.explain_lines import lines_of, verdict_lines
    from rootbound_service.nights.explain_verdict import rung_words

    reason = note.reason.replace("_", " ")
    lines = [
        f"Note {note.id}: {name}, night of {note.night}",
        f"from {rung_words(note.from_rung)} to {rung_words(note.to_rung)}: {reason}",
    ]
    if explained.again is not None:
        lines += verdict_lines(explained.again)
    typer.echo("\n".join((*lines, *lines_of(explained.steps))))


def _note_told(note: NoteRecord, name: str) -> dict[str, object]:
    """What a note says of itself."""
    told: dict[str, object] = {**asdict(note), "field": name}
    del told["evidence"]
    return told


def _note_json(note: NoteRecord, name: str, explained: Explained) -> dict[str, object]:
    """A note for a program: everything there is."""
    again = explained.again
    verdict: dict[str, object] = {"computed_again": again is not None}
    if again is not None:
        verdict |= {
            "same": again.same,
            "compared": again.compared,
            "differences": [asdict(one) for one in again.differences],
            "rules": {"then": again.rules_then, "now": again.rules_now},
            "changed_packages": again.changed_packages,
        }
    steps = [asdict(one) | {"works": one.works} for one in explained.steps]
    return {"note": _note_told(note, name), **verdict, "steps": steps, "evidence": note.evidence}


def _print_json(told: object) -> None:
    import json

    from rootbound_service.nights.plain import plain

    typer.echo(json.dumps(plain(told), indent=1, ensure_ascii=False, allow_nan=False))
