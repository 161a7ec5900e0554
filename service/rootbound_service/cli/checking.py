"""``rootbound doctor``: ask every public service once and say what to do about those that fail."""

from __future__ import annotations

import typer

from rootbound_service.cli.errors import PARTLY, REFUSED
from rootbound_service.cli.session import session_of


def doctor(ctx: typer.Context) -> None:
    """Ask every source once, and say what to do.

    One small request to each service that the written order names, for the first field's place.
    Nothing is stored, nobody is written to. The lines of DNS for the mail come along.
    """
    from rootbound_service.cli.checking_ways import check_texts, mail_lines
    from rootbound_service.nights.checkup import check_sources

    session = session_of(ctx)
    with session.service() as service:
        settings = service.parts.settings
        found = [*check_sources(service.parts, session.now()), *check_texts(settings)]
    for one in found:
        typer.echo(f"{'well' if one.well else 'BAD ':4}  {one.what}: {one.said}")
        if one.mend:
            typer.echo(f"      what to do: {one.mend}")
    for line in mail_lines(settings):
        typer.echo(line)
    bad = sum(not one.well for one in found)
    if bad:
        typer.echo(f"{bad} of {len(found)} checks are not well.")
        raise typer.Exit(REFUSED if bad == len(found) else PARTLY)
    typer.echo(f"All {len(found)} checks are well.")
