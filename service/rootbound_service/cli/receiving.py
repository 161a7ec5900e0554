"""The command that a mail system hands letters to."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from rootbound_service.cli.session import session_of

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
    """
    raw = sys.stdin.buffer.read()
    with session_of(ctx).service(log=True) as service:
        from rootbound_service.replies.mail import MailIn, take_mail
        from rootbound_service.secret import links_of

        settings = service.parts.settings
        ask = settings.mail_reply_to or settings.contact or settings.mail_from
        with service.engine.begin() as conn:
            mail = MailIn(raw, service.clock.now(), to)
            what = take_mail(conn, mail, links_of(settings), ask)
    typer.echo(SAID[what])
