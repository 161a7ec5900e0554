"""Tables and bars on a terminal, or as plain text where the output goes elsewhere."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager

from rich import box
from rich.console import Console
from rich.progress import Progress as Bar
from rich.table import Table

from rootbound_service.cli.service import Progress

WIDE = 100
"""From this width on columns stand two spaces apart. [columns]"""


def console(*, err: bool = False) -> Console:
    """Give a console that prints what it is given: no markup in people's words, no colours."""
    return Console(stderr=err, highlight=False, markup=False, emoji=False)


def print_table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    err: bool = False,
    whole: Sequence[str] = (),
) -> None:
    """Print a table that fits the width of the output.

    Parameters
    ----------
    heads
        Names of the columns.
    rows
        Cells, as many as there are heads.
    err
        Print to stderr.
    whole
        Heads of the columns that are never broken over lines.
    """
    screen = console(err=err)
    space = (0, 1, 0, 0) if screen.width >= WIDE else (0, 0)
    table = Table(box=box.SIMPLE_HEAD, padding=space, pad_edge=False, show_edge=False)
    for head in heads:
        table.add_column(head, no_wrap=head in whole, overflow="fold")
    for row in rows:
        table.add_row(*row)
    screen.print(table)


@contextmanager
def bar(title: str) -> Generator[Progress]:
    """Show a bar on stderr while something long runs.

    Parameters
    ----------
    title
        What is being done.

    Yields
    ------
    Progress
        To be told how many are done, and of how many.
    """
    with Bar(console=console(err=True), transient=True) as shown:
        task = shown.add_task(title, total=None)
        yield lambda done, total: shown.update(task, completed=done, total=total)
