"""The command that a mail system hands letters to."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from rootbound_service.cli.errors import complain
from rootbound_service.cli.session import session_of
from rootbound_service.errors import ServiceError

COME_AGAIN = 75
"""EX_TEMPFAIL of sysexits.h, from memory: mail systems defer on it and return on any other."""
SAID = {
    "bounce": "A bounce; kept with its letter.",
    "stopped": "A wish to stop; done.",
    "answered": "An answer; acted upon.",
    "machine": "From a machine; left alone.",
    "stranger": "From nobody we know; left alone.",
    "told_before": "It came before; nothing is done twice.",
}


def receive(
    ctx: typer.Context,
    to: Annotated[
        str, typer.Option(metavar="ADDRESS", help="To whom it was sent, if the mail system knows.")
    ] = "",
) -> None:
    """Take in one letter from standard input: a bounce, a wish to stop, or an answer.

    For a mail system's pipe: give it the addresses that letters are answered and bounced to.
    It ends with 0 when the letter is taken in, else with 75: the mail system keeps it and comes
    again.
    """
    try:
        what = _take(ctx, sys.stdin.buffer.read(), to)
    except Exception as error:  # whatever it is, the letter must not be lost or sent back
        said = str(error) if isinstance(error, ServiceError) else type(error).__name__
        complain([f"the letter could not be taken in: {said}"])
        raise typer.Exit(COME_AGAIN) from error
    typer.echo(SAID[what])


def _take(ctx: typer.Context, raw: bytes, to: str) -> str:
    """Take in a letter; what it was."""
    with session_of(ctx).service(log=True) as service:
        from rootbound_service.replies.mail import MailIn, take_mail
        from rootbound_service.secret import links_of

        settings = service.parts.settings
        ask = settings.mail_reply_to or settings.contact or settings.mail_from
        with service.engine.begin() as conn:
            mail = MailIn(raw, service.clock.now(), to)
            return take_mail(conn, mail, links_of(settings), ask)
