"""``rootbound people``: who is told what by which way, with the consent behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import EPILOG, PlainGroup
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from rootbound_service.records import Scope

HOW = "command"
Person = Annotated[str, typer.Argument(metavar="PERSON", help="A name, a mail address or #number.")]
Field = Annotated[str, typer.Argument(metavar="FIELD", help="A name or #number.")]
Consent = Annotated[
    str | None,
    typer.Option(
        metavar="WORDS", help="What they were asked and agreed to, as they read or heard it."
    ),
]
Units = Annotated[str | None, typer.Option(metavar="UNITS", help="us or metric.")]
Zone = Annotated[
    str | None, typer.Option(metavar="ZONE", help="Of their clock, as America/Chicago.")
]
Language = Annotated[str | None, typer.Option(metavar="CODE", help="As en.")]
EveryField = Annotated[bool, typer.Option("--every-field", help="All their fields again.")]
End = Annotated[bool, typer.Option("--end", help="They are it no more.")]
What = Annotated[str, typer.Option("--what", help="all, notes or digest.")]

people = typer.Typer(
    cls=PlainGroup, help="Who is told what, and by which way.", no_args_is_help=True, epilog=EPILOG
)


@people.command("list", epilog=EPILOG)
def list_(ctx: typer.Context) -> None:
    """List everybody with the ways they are reached, what they want, and what they stopped."""
    from rootbound_service.cli.people_card import people_rows
    from rootbound_service.cli.screen import print_table

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        rows = people_rows(conn)
    if not rows:
        typer.echo("Nobody yet: people come with the fields that are enrolled.")
        return
    print_table(("person", "way", "notes", "digest", "stopped", "consent"), rows, whole=("person",))


@people.command("add", epilog=EPILOG)
def add(  # noqa: PLR0913, PLR0917 - one flag each
    ctx: typer.Context,
    person: Person,
    email: Annotated[str | None, typer.Option(metavar="ADDRESS")] = None,
    text: Annotated[
        str | None, typer.Option(metavar="NUMBER", help="A number that takes texts.")
    ] = None,
    from_rung: Annotated[
        int | None, typer.Option(min=0, max=4, help="Only notes of this rung and above.")
    ] = None,
    field: Annotated[
        list[str] | None, typer.Option(metavar="FIELD", help="Only this field; may be repeated.")
    ] = None,
    digest: Annotated[
        str | None, typer.Option(metavar="WEEKDAY", help="Day of the digest, or never.")
    ] = None,
    every_field: EveryField = False,  # noqa: FBT002  typer's
    notes: Annotated[
        bool | None, typer.Option("--notes/--no-notes", help="Whether notes go this way.")
    ] = None,
    consent: Consent = None,
) -> None:
    """Add a way to reach somebody, or change what they want by it.

    A number needs their consent in the words they agreed to: --consent "...". It gets a first
    text that says who writes, how often, and how to stop.
    """
    from rootbound_service.cli.people_card import add_contact

    given = {"email": email, "text": text, "from_rung": from_rung, "digest": digest}
    wanted = _given(**given, notes=notes)
    fields = [] if every_field else field
    with session_of(ctx).service() as service, service.engine.begin() as conn:
        line = add_contact(conn, person, wanted, fields, consent, service.clock.now())
    typer.echo(line)


@people.command("show", epilog=EPILOG)
def show(ctx: typer.Context, person: Person) -> None:
    """Show one person with every word they agreed to, took back and stopped, and when."""
    from rootbound_service.cli.people_shown import person_lines

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        lines = person_lines(conn, person, service.clock.now())
    for line in lines:
        typer.echo(line)


@people.command("new", epilog=EPILOG)
def new(
    ctx: typer.Context,
    person: Annotated[str, typer.Argument(metavar='"NAME <MAIL>"')],
    units: Units = None,
    time_zone: Zone = None,
    language: Language = None,
) -> None:
    """Enter somebody who looks after no field, such as a second contact."""
    from rootbound_service.cli.people_entered import new_person

    given = _given(units=units, time_zone=time_zone, language=language)
    with session_of(ctx).service() as service, service.engine.begin() as conn:
        line = new_person(conn, person, given, service.clock.now())
    typer.echo(line)


@people.command("change", epilog=EPILOG)
def change(
    ctx: typer.Context,
    person: Person,
    units: Units = None,
    time_zone: Zone = None,
    language: Language = None,
) -> None:
    """Change the units, the clock or the language somebody reads by."""
    from rootbound_service.cli.people_entered import change_reader

    given = _given(units=units, time_zone=time_zone, language=language)
    with session_of(ctx).service() as service, service.engine.begin() as conn:
        line = change_reader(conn, person, given)
    typer.echo(line)


def _given(**flags: object) -> dict[str, object]:
    return {name: value for name, value in flags.items() if value is not None}


@people.command("stop", epilog=EPILOG)
def stop(ctx: typer.Context, person: Person, what: What = "all") -> None:
    """Stop messages to somebody by all their ways, as they asked in whatever manner."""
    from rootbound_service.cli.people_card import contacts_named, scope_of
    from rootbound_service.telling.stopping import stop as stop_one

    scope: Scope = scope_of(what)
    with session_of(ctx).service() as service, service.engine.begin() as conn:
        found = contacts_named(conn, person)
        for one in found:
            stop_one(conn, one, scope, HOW, "", service.clock.now())
    typer.echo(f"Stopped: {what}, by {len(found)} way{'' if len(found) == 1 else 's'}.")


@people.command("start", epilog=EPILOG)
def start(ctx: typer.Context, person: Person) -> None:
    """Let messages go to somebody again who has asked for it."""
    from rootbound_service.cli.people_card import contacts_named
    from rootbound_service.telling.stopping import start as start_one

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        found = contacts_named(conn, person)
        done = sum(start_one(conn, one, HOW, "", service.clock.now()) for one in found)
    typer.echo(f"Started again by {done} of {len(found)} way{'' if len(found) == 1 else 's'}.")


@people.command("silence", epilog=EPILOG)
def silence(
    ctx: typer.Context,
    person: Person,
    field: Field,
    until: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Last silent day.")],
) -> None:
    """Tell somebody nothing of a field until a day; the digest still has it."""
    from rootbound_service.cli.people_card import silence_field

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        typer.echo(silence_field(conn, person, field, until, service.clock.now()))


@people.command("second", epilog=EPILOG)
def second(
    ctx: typer.Context,
    field: Field,
    person: Person,
    end: End = False,  # noqa: FBT002  typer's
) -> None:
    """Name who hears of a field when a note on the worst rung is not answered in 48 hours."""
    from rootbound_service.cli.people_entered import second_contact

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        line = second_contact(conn, field, person, end=end)
    typer.echo(line)


@people.command("seen", epilog=EPILOG)
def seen(ctx: typer.Context, person: Person, field: Field) -> None:
    """Note that somebody has seen what a field came to, as they said on the phone."""
    from rootbound_service.records import Acknowledgement
    from rootbound_service.store.acknowledgements import acknowledge
    from rootbound_service.store.fields import find_field
    from rootbound_service.store.people import find_person

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        found, who, now = find_field(conn, field), find_person(conn, person), service.clock.now()
        acknowledge(conn, [Acknowledgement(who.id, found.season_id, now, HOW)])
    typer.echo(f"Noted: {who.name} has seen what {found.name} came to.")
