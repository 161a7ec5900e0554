"""``rootbound soil``: the soil of a field, value by value, and how to correct it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.cli.service import Service
    from rootbound_service.records import FieldRecord

Field = Annotated[str, typer.Argument(metavar="FIELD", help="Name or number of the field.")]
Assign = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="NAME=VALUE",
        help="Enter a value by hand, such as clay_pct=28; may be given several times.",
    ),
]
Clear = Annotated[
    list[str] | None,
    typer.Option(
        "--clear", metavar="NAME", help="Withdraw a value entered by hand; the services' counts."
    ),
]
Fetch = Annotated[bool, typer.Option("--fetch", help="Ask the soil services now.")]


def soil(
    ctx: typer.Context,
    field: Field,
    assign: Assign = None,
    clear: Clear = None,
    fetch: Fetch = False,  # noqa: FBT002  a switch on the command line
) -> None:
    """Show the soil of one field, correct it, or have it fetched.

    Each value is shown with its unit and where it is from. What is entered by hand counts
    before anything a service says, and stays when the services are asked again.
    """
    from rootbound_service.intake.soils import cleared_soil, entered_soil

    given, names = entered_soil(assign or ()), cleared_soil(clear or ())
    _refuse_both(given, names)
    session = session_of(ctx)
    with session.service() as service:
        found = _find(service, field)
        if given or names:
            with service.engine.begin() as conn:
                _enter(conn, found, given, names, session.now())
        failed = fetch and not _fetch(service, found, session.now())
        _show(service, field)
    if failed:
        from rootbound_service.cli.errors import PARTLY, REFUSED

        raise typer.Exit(PARTLY if given or names else REFUSED)


def _refuse_both(given: dict[str, float | str], names: tuple[str, ...]) -> None:
    """A value is either entered or withdrawn."""
    both = [name for name in names if name in given]
    if both:
        from rootbound_service.errors import Problem, RefusedInput

        what, wanted = "is set and cleared at once", "do one of the two"
        raise RefusedInput(tuple(Problem(f"--clear {name}", what, wanted) for name in both))


def _find(service: Service, field: str) -> FieldRecord:
    from rootbound_service.store.fields import find_field

    with service.engine.execution_options(ro=True).connect() as conn:
        return find_field(conn, field)


def _enter(
    conn: Connection,
    field: FieldRecord,
    given: dict[str, float | str],
    names: tuple[str, ...],
    now: datetime,
) -> None:
    """Store what was entered and withdrawn, all of it or nothing."""
    from rootbound_service.store.soil import change_by_hand

    change_by_hand(conn, field.id, given, names, now)


def _fetch(service: Service, field: FieldRecord, now: datetime) -> bool:
    """Ask the services; say what some had not, and whether any had an answer."""
    from rootbound_service.cli.errors import complain
    from rootbound_service.soil.build import sources_at
    from rootbound_service.soil.fetch import fetch_soils

    sources = sources_at(service.parts.order, service.parts.soils)
    (result,) = fetch_soils(service.engine, sources, (field,), now, again=True)
    complain(result.reasons)
    return result.source is not None


def _show(service: Service, field: str) -> None:
    from rootbound_service.cli.soil_card import soil_lines
    from rootbound_service.store.fields import find_field
    from rootbound_service.store.soil import soil_values
    from rootbound_service.store.soil_answers import newest_answers

    with service.engine.execution_options(ro=True).connect() as conn:
        found = find_field(conn, field)
        values = soil_values(conn, found.id)
        answered = newest_answers(conn, (found.id,), found=True).get(found.id)
        last = newest_answers(conn, (found.id,)).get(found.id)
    typer.echo("\n".join(soil_lines(found, values, answered, last)))
