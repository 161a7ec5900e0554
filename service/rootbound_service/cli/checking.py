"""``rootbound doctor``: what is wrong with machine, store and sources, and what to do about it."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from rootbound_service.cli.errors import PARTLY, REFUSED
from rootbound_service.cli.session import session_of

HERE = "Only this machine and its store; nobody is asked."


def doctor(
    ctx: typer.Context,
    here: Annotated[bool, typer.Option("--here", help=HERE)] = False,  # noqa: FBT002  typer's
) -> None:
    """Look at the machine, the store and every source, and say what to do.

    One small request goes to each service that the written order names, for the first field's
    place. No weather is stored, nobody is written to. The lines of DNS for the mail come along.
    """
    from rootbound_service.cli.checking_here import check_disk, check_secrets
    from rootbound_service.cli.checking_shown import Group, lines_of, summary
    from rootbound_service.cli.checking_store import check_opened, check_store
    from rootbound_service.cli.checking_ways import check_texts, mail_lines
    from rootbound_service.logs import log_to_stderr
    from rootbound_service.public.checkup_mail import check_mail
    from rootbound_service.public.checkup_settings import check_settings

    session = session_of(ctx)
    settings = session.settings()
    log_to_stderr(whole=False, form=settings.log_format)
    machine = [*check_disk(settings), *check_secrets(settings, os.environ)]
    store = check_store(settings)
    groups = [
        Group("This machine", machine),
        Group(
            "Settings", [*check_settings(settings), *check_mail(settings), *check_texts(settings)]
        ),
        Group("Database", store),
    ]
    opened = all(one.well for one in store)
    if opened:
        groups = check_opened(session, groups, here=here)
    for line in lines_of(groups):
        typer.echo(line)
    if not opened:
        typer.echo("The rest was not looked at: it needs the database.")
    if not here:
        for line in mail_lines(settings):
            typer.echo(line)
    found = [one for group in groups for one in group.found]
    bad = sum(not one.well for one in found)
    typer.echo(summary(bad, len(found)))
    if bad:
        raise typer.Exit(REFUSED if bad == len(found) else PARTLY)
