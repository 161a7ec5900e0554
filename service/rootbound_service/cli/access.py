"""``rootbound access``: who comes in to the pages, for the first time or when mail is down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import EPILOG, PlainGroup
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Person

access = typer.Typer(
    cls=PlainGroup,
    help="Let people in to the pages: accounts, operators, a link to sign in.",
    epilog=EPILOG,
    no_args_is_help=True,
    rich_markup_mode=None,
)
Who = Annotated[str, typer.Argument(metavar="PERSON", help="Name or e-mail of somebody known.")]


@access.command("account", epilog=EPILOG)
def account(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="As its members read it.")],
    adviser: Annotated[str, typer.Option(metavar="PERSON", help='"Ann Miller <ann@example.org>"')],
) -> None:
    """Make an account with its first adviser, who invites everybody else."""
    from rootbound_service.store.accounts import new_account, put_member
    from rootbound_service.store.people import add_person

    session = session_of(ctx)
    wanted = _read(adviser)
    with session.service() as service, service.engine.begin() as conn:
        person = add_person(conn, wanted, session.now())
        number = new_account(conn, name, session.now())
        put_member(conn, number, person.id, "adviser")
    typer.echo(f"Account {number}, {name}, with {person.name} as its adviser.")
    typer.echo(f"They sign in with {person.email}, or by: rootbound access link {person.email}")


@access.command("operator", epilog=EPILOG)
def operator(
    ctx: typer.Context,
    whom: Annotated[str, typer.Argument(metavar="PERSON", help='"Ann Miller <ann@example.org>"')],
) -> None:
    """Let somebody see the operator's pages; that shows them no field."""
    from rootbound_service.store.accounts import put_operator
    from rootbound_service.store.people import add_person

    session = session_of(ctx)
    wanted = _read(whom)
    with session.service() as service, service.engine.begin() as conn:
        person = add_person(conn, wanted, session.now())
        put_operator(conn, person.id)
    typer.echo(f"{person.name} sees the operator's pages after signing in.")


@access.command("link", epilog=EPILOG)
def link(ctx: typer.Context, whom: Who) -> None:
    """Print a link that signs somebody in once, within 15 minutes."""
    from rootbound_service.secret import links_of
    from rootbound_service.store.people import find_person
    from rootbound_service.store.sign_in import new_link

    session = session_of(ctx)
    with session.service() as service, service.engine.begin() as conn:
        person = find_person(conn, whom)
        _refuse_outsider(conn, person)
        number = new_link(conn, person.id, session.now())
        links = links_of(session.settings())
    if number is None:
        typer.echo(f"{person.name} had five links within the hour; wait.", err=True)
        raise typer.Exit(1)
    typer.echo(links.way_in("enter", number))


@access.command("list", epilog=EPILOG)
def listed(ctx: typer.Context) -> None:
    """List accounts with their people, and the operators."""
    from sqlalchemy import select

    from rootbound_service.cli.screen import print_table
    from rootbound_service.store.accounts import members_of
    from rootbound_service.store.schema import account as accounts
    from rootbound_service.store.schema import operator as operators
    from rootbound_service.store.schema import person

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        rows = [
            (str(one.id), one.name, who.name, who.email, may)
            for one in conn.execute(select(accounts).order_by(accounts.c.id))
            for who, may in members_of(conn, one.id)
        ]
        keepers = conn.scalars(
            select(person.c.name).join(operators, operators.c.person_id == person.c.id)
        ).all()
    if rows:
        print_table(("account", "name", "person", "e-mail", "may"), rows, whole=("account",))
    else:
        typer.echo("No account yet. rootbound access account NAME --adviser PERSON makes one.")
    if keepers:
        typer.echo(f"Operators: {', '.join(keepers)}")


def _read(text: str) -> Person:
    """Somebody by name and address."""
    from pydantic_core import PydanticCustomError

    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.intake.people import read_person
    from rootbound_service.records import Person as Record

    try:
        name, email = read_person(text)
    except PydanticCustomError as error:
        what, _, wanted = error.message().partition("; ")
        raise RefusedInput((Problem("person", what, wanted),)) from None
    return Record(name, email, "adviser")


def _refuse_outsider(conn: Connection, person: Person) -> None:
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.store.sign_in import who_may_enter

    if who_may_enter(conn, person.email) is None:
        what = f"{person.name} is in no account"
        wanted = "make one with rootbound access account, or invite them from its pages"
        raise RefusedInput((Problem("person", what, wanted),))
