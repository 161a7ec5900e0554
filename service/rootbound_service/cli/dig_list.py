"""``rootbound dig-list``: where to dig first and where once more, from what is stored."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from rootbound_service.cli.service import Service
    from rootbound_service.notes.dig_lists import DigList
    from rootbound_service.records import FieldRecord, Person, Units

Whose = Annotated[
    str | None,
    typer.Option("--for", metavar="PERSON", help="Name or mail of a grower or adviser."),
]
On = Annotated[
    str | None, typer.Option("--on", metavar="YYYY-MM-DD", help="The day; today if not given.")
]
NO_FIELD = (
    "No field has a season by then. Enrol the first from a file, rootbound enroll --file "
    "FIELD.toml, or by flags, see rootbound enroll --help."
)
NONE_TO_DIG = (
    "Nothing to dig: every field with a season going on has a dig. One comes back here at V6 to V8 "
    "if a soaking rain fell since its dig and roots that crossed would change its rung."
)


def dig_list(ctx: typer.Context, whose: Whose = None, on: On = None) -> None:
    """List the fields to dig first, and those to dig once more.

    An order to look by, from the weather that is stored: no field is rated by it. Young maize
    is best dug from V2 to V5, and again at V6 to V8 after a soaking rain.
    """
    from rootbound_service.cli.dig_table import print_again, print_first, say
    from rootbound_service.notes.en.dig_words import DIG_CAUTIONS

    session = session_of(ctx)
    today = _day(on, session.now().date())
    with session.service() as service:
        person = _person(service, whose) if whose else None
        fields, digs = _look(service, today, person)
    if not fields:
        typer.echo(NO_FIELD)
        return
    if not (digs.first or digs.again):
        typer.echo(NONE_TO_DIG)
        return
    units: Units | None = person.units if person else None
    if digs.first:
        print_first(digs.first, fields, units)
    if digs.again:
        print_again(digs.again, fields, units)
    typer.echo()
    say(DIG_CAUTIONS)


def _look(
    service: Service, today: date, person: Person | None
) -> tuple[Mapping[int, FieldRecord], DigList]:
    """Compute what the list is about from the stored weather, and put it in order."""
    from rootbound_service.nightly import decide_all
    from rootbound_service.nights.dig_list import dig_list as in_order
    from rootbound_service.nights.dig_list import to_compute
    from rootbound_service.nights.gather import gather

    parts = service.parts
    gathered = gather(parts, today, pull=False, whose={person.id} if person else None)
    asked, past = to_compute(gathered)
    decided = decide_all(asked, parts.settings.weather_stale_days)
    listed = in_order((*(one.computed for one in decided), *past), today)
    return {field.id: field for field in gathered.fields}, listed


def _person(service: Service, asked: str) -> Person:
    """Find a person by name or mail."""
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.store.people import list_people

    with service.engine.connect() as conn:
        people = list_people(conn)
    key = " ".join(asked.split()).casefold()
    found = [one for one in people if key in {one.name.casefold(), one.email.casefold()}]
    if len(found) == 1:
        return found[0]
    if found:
        what, wanted = f"{asked} fits {len(found)} people", "give the mail address"
    else:
        what, wanted = f"nobody is called {asked}", _near(key, people)
    raise RefusedInput((Problem("--for", what, wanted),))


def _near(key: str, people: Sequence[Person]) -> str:
    """Say whom somebody may have meant."""
    from difflib import get_close_matches

    if not people:
        return "enrol a field first: its people come with it"
    names = {one.name.casefold(): one.name for one in people}
    near = [names[one] for one in get_close_matches(key, names, n=3)]
    known = ", ".join(sorted(names.values())[:5])
    return f"did you mean {' or '.join(near)}?" if near else f"give one of {known}"


def _day(given: str | None, today: date) -> date:
    """Read the day asked for; it must have come."""
    if given is None:
        return today
    from pydantic_core import PydanticCustomError

    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.intake.cells import read_day

    try:
        day = read_day(given)
    except PydanticCustomError as error:
        what, wanted = error.message().split("; ", 1)
        raise RefusedInput((Problem("--on", what, wanted),)) from None
    if day > today:
        what = f"{day} is in the future (today is {today})"
        raise RefusedInput((Problem("--on", what, "give a day that has come"),))
    return day
