"""The command ``rootbound``: one room for each subject, all of them light to import.

Nothing here may import more than typer: whatever a command needs it imports when it runs,
so that ``rootbound --help`` answers at once.
"""

from __future__ import annotations

from typing import Annotated

import typer

from rootbound_service.cli import (
    access,
    backing_up,
    checking,
    dig_list,
    digging,
    enrolling,
    explain,
    feeds,
    importing,
    looking,
    moving,
    observing,
    outbox,
    people,
    receiving,
    replaying,
    running,
    sizing,
    soil,
    tracing,
    weather,
    web,
)
from rootbound_service.cli.errors import EPILOG, PlainGroup
from rootbound_service.cli.session import start

app = typer.Typer(
    cls=PlainGroup,
    help="Season-long early warning for fields whose roots are held by a furrow wall or a pan.",
    epilog=EPILOG,
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback()
def options(
    ctx: typer.Context,
    data_dir: Annotated[
        str | None, typer.Option(metavar="DIR", help="Where weather and the database are kept.")
    ] = None,
    database: Annotated[
        str | None, typer.Option(metavar="URL", help="Another database, as an SQLAlchemy URL.")
    ] = None,
) -> None:
    """Season-long early warning for fields whose roots are held by a furrow wall or a pan."""
    start(ctx, data_dir, database)


app.command("enroll", epilog=EPILOG)(enrolling.enroll)
app.command("import", epilog=EPILOG)(importing.import_fields)
app.command("dig", epilog=EPILOG)(digging.dig)
app.command("dig-list", epilog=EPILOG)(dig_list.dig_list)
app.command("observe", epilog=EPILOG)(observing.observe)
app.command("nightly", epilog=EPILOG)(running.nightly)
app.command("send", epilog=EPILOG)(running.send)
app.command("digest", epilog=EPILOG)(running.digest)
app.add_typer(outbox.outbox, name="outbox")
app.command("worker", epilog=EPILOG)(running.worker)
app.add_typer(people.people, name="people")
app.add_typer(access.access, name="access")
app.command("feed", epilog=EPILOG)(feeds.feed)
app.command("receive", epilog=EPILOG)(receiving.receive)
app.command("web", epilog=EPILOG)(web.web)
app.command("fields", epilog=EPILOG)(looking.fields)
app.command("show", epilog=EPILOG)(looking.show)
app.command("notes", epilog=EPILOG)(explain.notes)
app.command("explain", epilog=EPILOG)(explain.explain)
app.command("soil", epilog=EPILOG)(soil.soil)
app.add_typer(weather.weather, name="weather")
app.command("doctor", epilog=EPILOG)(checking.doctor)
app.add_typer(moving.db, name="db")
app.command("backup", epilog=EPILOG)(backing_up.backup)
app.command("restore", epilog=EPILOG)(backing_up.restore)
app.add_typer(sizing.capacity, name="capacity")
app.command("trace", epilog=EPILOG)(tracing.trace)
app.command("replay", epilog=EPILOG)(replaying.replay)


def main() -> None:
    """Run the command line."""
    app(prog_name="rootbound")
