"""``rootbound backup`` and ``rootbound restore``: what cannot be fetched again, kept elsewhere."""

from __future__ import annotations

from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.said import tell
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from collections.abc import Generator

    from rootbound_service.settings import Settings
    from rootbound_service.store.backup_manifest import Manifest

ALWAYS = ("forecasts",)
"""Nobody gives out yesterday's forecast again."""
WEATHER = ("weather", "answers", "files")
NOT_IN_IT = (
    "Not in it: the settings, whatever passwords they hold, and secret.key. Keep those apart; "
    "without the same secret the links in letters already sent stop working."
)
HELD = "See rootbound outbox list --status unknown, then outbox retry or outbox drop."
SINCE = (
    "before anything is sent, stop again whoever has stopped since (rootbound people stop), and "
    "end again the tokens and sessions that were ended since."
)
AGAIN = "Nights since then are computed again, and what they told may be told again."
SETTINGS = "Put the settings and the same secret in place before you start the worker."
NO_WEATHER = "Not in it: weather, which the first night after a restore fetches again (--weather)."


def backup(
    ctx: typer.Context,
    to: Annotated[Path, typer.Argument(metavar="TO", help="A new folder, or one file: NAME.tar.")],
    weather: Annotated[  # noqa: FBT002  typer's
        bool, typer.Option("--weather", help="Keep the days of weather as well.")
    ] = False,
) -> None:
    """Keep everything the service could not fetch again, as of one moment.

    Worker, sender and pages may go on meanwhile. It holds names, addresses and where fields
    are: keep it where only you can read it. A backup can be restored to either database.
    """
    from rootbound_service.cli.backing_weather import lying_elsewhere, said_of_weather
    from rootbound_service.logs import log_to_stderr
    from rootbound_service.store.backing_up import back_up
    from rootbound_service.store.engine import make_engine

    session = session_of(ctx)
    settings = session.settings()
    log_to_stderr(whole=False, form=settings.log_format)
    engine = make_engine(settings.database_url)
    folders = (*ALWAYS, *(WEATHER if weather else ()))
    try:
        with lying_elsewhere(settings, weather=weather) as lying:
            kept = back_up(engine, to, session.now(), settings.data_dir, folders, lying)
    finally:
        engine.dispose()
    tell(f"{to}: {_holds(kept)}.")
    tell(NOT_IN_IT)
    for line in said_of_weather(settings, NO_WEATHER, weather=weather):
        tell(line)
    tell(f"Check it where it will lie: rootbound restore {to} --verify")


def restore(
    ctx: typer.Context,
    from_: Annotated[Path, typer.Argument(metavar="FROM", help="What rootbound backup wrote.")],
    verify: Annotated[  # noqa: FBT002  typer's
        bool, typer.Option("--verify", help="Only check the backup; nothing of yours is touched.")
    ] = False,
    send: Annotated[  # noqa: FBT002  typer's
        bool, typer.Option("--send", help="Send what waited then, though it may come twice.")
    ] = False,
) -> None:
    """Put a backup into an empty database and data folder, all of it or nothing.

    Stop worker and pages first. What waited to be sent when the backup was taken is held, since
    it may have gone out since.
    """
    from rootbound_service.cli.backing_weather import forecasts_back, weather_back
    from rootbound_service.logs import log_to_stderr
    from rootbound_service.store.backup_archive import open_archive
    from rootbound_service.store.engine import make_engine
    from rootbound_service.store.restoring import restore as put_back
    from rootbound_service.store.restoring import verify as look_through

    log_to_stderr(whole=False)
    with open_archive(from_) as archive:
        if verify:
            done = look_through(archive)
            typer.echo(f"{from_}: whole. It holds {_holds(done.manifest)}.")
            return
        settings = session_of(ctx).settings()
        engine = make_engine(settings.database_url)
        try:
            with _no_worker(settings):
                done = put_back(engine, archive, settings.data_dir, send=send)
                forecasts_back(settings, archive)
                weather_back(settings)
        finally:
            engine.dispose()
    typer.echo(f"Restored {_holds(done.manifest)}.")
    for line in _beware(done.manifest, done.held, send=send):
        typer.echo(line)


def _holds(kept: Manifest) -> str:
    folders = f", and the folders {', '.join(kept.folders)}" if kept.folders else ""
    return (
        f"{kept.rows} rows of {len(kept.tables)} tables as of {kept.taken_at:%Y-%m-%d %H:%M} UTC"
        f"{folders}"
    )


def _beware(kept: Manifest, held: int, *, send: bool) -> tuple[str, ...]:
    """What an operator must know before anything is started."""
    when = f"{kept.taken_at:%Y-%m-%d %H:%M} UTC"
    waited = "No message waited then."
    if send:
        waited = "What waited then goes out with the next sending; it may come twice."
    elif held:
        waited = f"Held: {held} {'message' if held == 1 else 'messages'} that waited then. {HELD}"
    return (waited, f"Nobody here knows what came after {when}: {SINCE}", AGAIN, SETTINGS)


@contextmanager
def _no_worker(settings: Settings) -> Generator[None]:
    """Keep workers of this data folder away; where none ever ran there is nothing to hold."""
    from rootbound_service.worker.schedule import one_worker

    with ExitStack() as held:
        if (settings.data_dir / "worker.lock").exists():
            held.enter_context(one_worker(settings.data_dir))
        yield
