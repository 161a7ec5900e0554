"""``rootbound feed``: the secret address under which a person's machines read."""

from __future__ import annotations

from typing import Annotated

import typer

from rootbound_service.cli.session import session_of

HERE = "http://127.0.0.1:8040"
"""Where ``rootbound web`` answers if nobody says otherwise."""
NAMES = ("alerts.atom", "visits.ics", "fields.geojson", "fields.csv")


def feed(
    ctx: typer.Context,
    person: Annotated[str, typer.Argument(metavar="PERSON")],
    end: Annotated[bool, typer.Option("--end", help="End every address of theirs.")] = False,  # noqa: FBT002  typer's
) -> None:
    """Make the secret address of a person's feeds and show it, this once.

    Whoever has it can read where the fields are and how they stand. An address that got into
    wrong hands is ended with --end; the others of that person end with it.
    """
    from rootbound_service.store.feed_keys import end_feed_keys, make_feed_key
    from rootbound_service.store.people import find_person

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        who, now = find_person(conn, person), service.clock.now()
        base = service.parts.settings.base_url
        if end:
            many = end_feed_keys(conn, who.id, now)
            typer.echo(f"{many} address{'' if many == 1 else 'es'} of {who.name} ended.")
            return
        key = make_feed_key(conn, who.id, now)
    typer.echo(f"Feeds of {who.name}; keep the address to yourself, it is not shown again:")
    for name in NAMES:
        typer.echo(f"  {base or HERE}/f/{key}/{name}")
    if base is None:
        typer.echo("Only this machine can read them: set ROOTBOUND_BASE_URL to the web address.")
