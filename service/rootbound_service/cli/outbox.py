"""``rootbound outbox``: what waits, what was given up, and what an operator does about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import EPILOG, PlainGroup
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.store.unreached import Waiting

OPEN = ("pending", "sending", "dead", "unknown")
"""What ``list`` shows unless asked for more: whatever somebody may still have to do with."""
Numbers = Annotated[list[int], typer.Argument(metavar="MESSAGE...", help="See outbox list.")]

outbox = typer.Typer(
    cls=PlainGroup, help="Messages that wait or were given up.", no_args_is_help=True, epilog=EPILOG
)


@outbox.command("list", epilog=EPILOG)
def list_(
    ctx: typer.Context,
    status: Annotated[
        list[str] | None, typer.Option(metavar="STATUS", help="Only these; may be repeated.")
    ] = None,
) -> None:
    """List what waits, was given up or was cut off, and say which channels are left alone.

    Of addresses and texts nothing is shown: rootbound outbox show MESSAGE tells the subject.
    """
    from rootbound_service.cli.screen import print_table
    from rootbound_service.store.channel_state import channel_states
    from rootbound_service.store.outbox import counts
    from rootbound_service.store.unreached import outbox_listed

    wanted = _statuses(status) if status else OPEN
    with session_of(ctx).service() as service, service.engine.connect() as conn:
        listed, totals = outbox_listed(conn, wanted), counts(conn)
        states, now = channel_states(conn), service.clock.now()
    typer.echo(", ".join(f"{many} {name}" for name, many in totals.items() if many) or "Empty.")
    for channel, state in states.items():
        if state.open_until is not None and state.left_alone(now):
            typer.echo(f"{channel} is left alone until {_minute(state.open_until)}: {state.why}")
    if listed:
        rows = [_row(one) for one in listed]
        heads = ("message", "kind", "channel", "status", "due", "tries", "last answer")
        print_table(heads, rows, whole=("message", "due"))


@outbox.command("show", epilog=EPILOG)
def show(ctx: typer.Context, message: Annotated[int, typer.Argument(metavar="MESSAGE")]) -> None:
    """Show one message: its subject, what became of it, and every try to send it."""
    from rootbound_service.store.unreached import one_message

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        one, attempts = one_message(conn, message)
    typer.echo(f"Message {one.id}, {one.kind} by {one.channel}: {one.status}")
    typer.echo(f"  subject    {one.subject}")
    typer.echo(f"  written    {_minute(one.created_at)}")
    typer.echo(f"  due        {_minute(one.available_at)}")
    if one.not_after is not None:
        typer.echo(f"  worth it until {_minute(one.not_after)}")
    if one.sent_at is not None:
        typer.echo(f"  sent       {_minute(one.sent_at)}, {one.sent_local} where it is read")
    if one.last_error is not None:
        typer.echo(f"  last said  {_said(one.last_code, one.last_error)}")
    for tried in attempts:
        late = "" if tried.lease_held else ", reported after another sender had taken over"
        said = _said(tried.code, tried.error)
        typer.echo(
            f"  try {tried.number}: {_minute(tried.at)} {tried.outcome} {said}{late}".rstrip()
        )


@outbox.command("retry", epilog=EPILOG)
def retry(
    ctx: typer.Context,
    messages: Numbers,
    hours: Annotated[
        int, typer.Option(min=1, max=168, help="For how long they are worth sending. [h]")
    ] = 24,
) -> None:
    """Let messages be sent again that were given up, cut off, or dropped.

    One that was cut off in the middle may have arrived: it will then come twice.
    """
    from datetime import timedelta

    from rootbound_service.store.claiming import retry_now

    def act(conn: Connection, now: datetime) -> int:
        return retry_now(conn, messages, now, now + timedelta(hours=hours))

    _change(ctx, messages, act, "due now", "was given up, cut off or dropped, or waits")


@outbox.command("drop", epilog=EPILOG)
def drop(
    ctx: typer.Context,
    messages: Numbers,
    why: Annotated[str, typer.Option(metavar="TEXT", help="Kept with the message; name nobody.")],
) -> None:
    """Give messages up for good; the reason is kept with them."""
    from rootbound_service.store.claiming import drop_pending

    def act(conn: Connection, now: datetime) -> int:  # noqa: ARG001  (shape of an act)
        return drop_pending(conn, messages, why)

    _change(ctx, messages, act, "dropped", "waits, was given up or cut off")


def _change(
    ctx: typer.Context,
    messages: list[int],
    act: Callable[[Connection, datetime], int],
    done: str,
    which: str,
) -> None:
    """Change all of them or none, and say how many."""
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.store.unreached import one_message

    asked = sorted(set(messages))
    with session_of(ctx).service() as service, service.engine.begin() as conn:
        stands = {one: one_message(conn, one)[0].status for one in asked}
        changed = act(conn, service.clock.now())
        if changed != len(asked):
            told = ", ".join(f"{one} is {status}" for one, status in stands.items())
            wanted = f"name only what {which}"
            raise RefusedInput((Problem("message", f"nothing was changed: {told}", wanted),))
    typer.echo(f"{changed} {'message' if changed == 1 else 'messages'} {done}.")


def _statuses(given: list[str]) -> list[str]:
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.store.outbox import STATUSES

    if wrong := [one for one in given if one not in STATUSES]:
        wanted = f"give one of {', '.join(STATUSES)}"
        raise RefusedInput((Problem("--status", f"{wrong[0]!r} is no status", wanted),))
    return given


def _row(one: Waiting) -> tuple[str, ...]:
    said = _said(one.last_code, one.last_error)
    due = _minute(one.available_at)
    return (str(one.id), one.kind, one.channel, one.status, due, str(one.attempts), said)


def _said(code: int | None, error: str | None) -> str:
    """What the other side answered, in one line."""
    return " ".join(str(one) for one in (code, error) if one is not None)


def _minute(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M} UTC"
