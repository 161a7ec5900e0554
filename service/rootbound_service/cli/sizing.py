"""``rootbound capacity``: how large a service must be for its fields, and a simulated night."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.desk.capacity.asked import Asked, Machines, Manners
    from rootbound_service.desk.capacity.tables import Table

Fields = Annotated[
    str, typer.Option("--fields", metavar="N", help="How many fields, such as 250000 or 1e6.")
]
Cells = Annotated[
    str | None,
    typer.Option("--cells", metavar="N", help="Cells of weather; if not given, as maize lies."),
]
Hosts = Annotated[int, typer.Option("--hosts", help="Hosts that compute.")]
Cores = Annotated[int, typer.Option("--cores", help="Cores of each host.")]
Mail = Annotated[float, typer.Option("--mail", help="Letters a second your provider takes.")]
Texts = Annotated[float, typer.Option("--texts", help="Texts a second your provider takes.")]
Senders = Annotated[int, typer.Option("--senders", help="Processes that send.")]
Disk = Annotated[float, typer.Option("--disk", help="Disk of each host, in GB.")]
Json = Annotated[bool, typer.Option("--json", help="Print everything as JSON, for a program.")]
Workers = Annotated[int, typer.Option("--workers", min=1, help="Processes that compute.")]
Nights = Annotated[int, typer.Option("--nights", min=1, max=400, help="How many nights.")]
Seed = Annotated[int, typer.Option("--seed", min=0, help="The same seed, the same nights.")]
Lost = Annotated[float, typer.Option("--lost", min=0, max=100, help="Losses an hour and worker.")]
Bad = Annotated[
    list[int] | None, typer.Option("--bad", help="A night of a bad spell, from 1; may be repeated.")
]
Picture = Annotated[
    Path | None, typer.Option("--picture", metavar="FILE", help="Draw the last night, .svg.")
]

ENDINGS = (".svg", ".png", ".pdf")

capacity = typer.Typer(
    no_args_is_help=True, help="Say how large a service must be, and play a night of it."
)


@capacity.callback(invoke_without_command=True)
def size(  # noqa: PLR0913, PLR0917  a flag each
    ctx: typer.Context,
    fields: Fields = "1e5",
    cells: Cells = None,
    hosts: Hosts = 1,
    cores: Cores = 8,
    mail: Mail = 14.0,
    texts: Texts = 1.0,
    senders: Senders = 2,
    disk: Disk = 500.0,
    as_json: Json = False,  # noqa: FBT002  (how typer declares a flag)
) -> None:
    """Say what a number of fields asks of machines, public services and providers.

    Then what runs out first and what would serve. What rests on figures that were assumed is
    no better than they are: deploy/capacity.md lists them.
    """
    if ctx.invoked_subcommand is not None:
        _refuse_flags_before(ctx, ctx.invoked_subcommand)
        return
    from rootbound_service.desk.capacity import tables
    from rootbound_service.desk.capacity.asked import Machines
    from rootbound_service.desk.capacity.measured import shipped
    from rootbound_service.desk.capacity.night import sized
    from rootbound_service.desk.capacity.steps import steps
    from rootbound_service.desk.capacity.values import as_values

    machines = Machines(
        hosts=hosts, cores=cores, mail_per_s=mail, texts_per_s=texts, senders=senders, disk_gb=disk
    )
    asked, measured = _asked(fields, cells, machines), shipped()
    one = sized(asked, measured)
    found, last = steps(asked, measured)
    if as_json:
        _say_json(as_values(one, found, last))
        return
    for table in (tables.asking([one]), tables.working([one]), tables.telling([one])):
        _print(table)
    _print(tables.scarce(one))
    if found:
        typer.echo("What breaks first, and what then serves:")
        _print(tables.mended(found))
    else:
        typer.echo("There is room for all of it.")


@capacity.command("simulate")
def simulate(  # noqa: PLR0913, PLR0917  a flag each
    fields: Fields = "1e5",
    workers: Workers = 8,
    nights: Nights = 3,
    seed: Seed = 1,
    cells: Cells = None,
    mail: Mail = 14.0,
    texts: Texts = 1.0,
    senders: Senders = 2,
    lost: Lost = 0.02,
    bad: Bad = None,
    picture: Picture = None,
    as_json: Json = False,  # noqa: FBT002  (how typer declares a flag)
) -> None:
    """Play nights event by event: pulls, chunks, rows, letters, senders.

    Times count from the start of a night; letters and texts go from eight o'clock on.
    """
    from rootbound_service.desk.capacity import tables
    from rootbound_service.desk.capacity.asked import Machines
    from rootbound_service.desk.capacity.measured import shipped
    from rootbound_service.desk.capacity.played import Chance
    from rootbound_service.desk.capacity.simulated import play
    from rootbound_service.desk.capacity.values import night_values

    machines = Machines(mail_per_s=mail, texts_per_s=texts, senders=senders)
    chance = Chance(lost_per_hour=lost, drought=tuple(bad or ()))
    _refuse(bad or (), nights, picture)
    asked = _asked(fields, cells, machines)
    played = play(asked, workers, nights, seed, shipped(), chance)
    if picture is not None:
        from rootbound_service.desk.capacity.picture import draw_night

        draw_night(played[-1], picture)
    if as_json:
        _say_json([night_values(one) for one in played])
    else:
        _print(tables.nights(played))


@capacity.command("page")
def page() -> None:
    """Print the page deploy/capacity.md, every figure from the model."""
    from rootbound_service.desk.capacity.page import page as whole

    typer.echo(whole(_manners()), nl=False)


def _refuse_flags_before(ctx: typer.Context, command: str) -> None:
    """Flags before a further command would be silently dropped."""
    from rootbound_service.errors import Problem, RefusedInput

    defaults = {name: option.default for option in ctx.command.params if (name := option.name)}
    given = [name for name, value in ctx.params.items() if value != defaults.get(name, value)]
    if given:
        flags = ", ".join(f"--{name}" if name != "as_json" else "--json" for name in given)
        wanted = f"give it after the command: rootbound capacity {command} {flags} ..."
        raise RefusedInput((Problem(flags, f"stands before {command}", wanted),))


def _refuse(bad: Sequence[int], nights: int, picture: Path | None) -> None:
    """Refuse nights that are not played, and pictures that cannot be drawn."""
    from rootbound_service.errors import Problem, RefusedInput

    problems = [
        Problem("--bad", f"there is no night {one}", f"give 1 to {nights}")
        for one in bad
        if not 1 <= one <= nights
    ]
    if picture is not None and picture.suffix not in ENDINGS:
        what, wanted = f"{picture} is no picture", f"end it in {', '.join(ENDINGS)}"
        problems.append(Problem("--picture", what, wanted))
    if picture is not None and not picture.parent.is_dir():
        wanted = "name a folder that there is"
        problems.append(Problem("--picture", f"{picture.parent} is no folder", wanted))
    if problems:
        raise RefusedInput(tuple(problems))


def _asked(fields: str, cells: str | None, machines: Machines) -> Asked:
    from rootbound_service.desk.capacity.asked import Asked

    many = None if cells is None else _number("--cells", cells)
    return Asked(_number("--fields", fields), _manners(), many, machines)


def _manners() -> Manners:
    """How hard the service asks public services, from where it is wired."""
    from rootbound_service.desk.capacity.asked import Manners
    from rootbound_service.wiring import POLITE_PAUSE_S

    return Manners(pause_s=POLITE_PAUSE_S)


def _number(where: str, text: str) -> int:
    """Read a whole number, also one such as 1e6."""
    from rootbound_service.errors import Problem, RefusedInput

    try:
        value = float(text.replace(",", "").replace("_", ""))
    except ValueError:
        value = 0.5
    if not (value.is_integer() and value >= 1):
        what, wanted = f"{text!r} is no number of things", "give one such as 250000 or 1e6"
        raise RefusedInput((Problem(where, what, wanted),))
    return int(value)


def _print(table: Table) -> None:
    from rootbound_service.cli.screen import print_table

    print_table(table.heads, table.rows)
    typer.echo()


def _say_json(values: object) -> None:
    import json

    typer.echo(json.dumps(values, indent=1))
