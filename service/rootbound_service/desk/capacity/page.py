"""The page on capacity, whole: every figure on it comes out of the model."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING

from rootbound_service.desk.capacity import tables
from rootbound_service.desk.capacity.asked import Asked, Habits, Machines, Manners
from rootbound_service.desk.capacity.limits import SHARE
from rootbound_service.desk.capacity.measured import shipped
from rootbound_service.desk.capacity.night import sized
from rootbound_service.desk.capacity.page_words import (
    BREAKS,
    COSTS,
    DENSE,
    HEAD,
    LEFT_OUT,
    MEASURED,
    PULLS,
    SIMULATED,
    TOLD,
    WORK,
)  # fmt: skip
from rootbound_service.desk.capacity.places import counties
from rootbound_service.desk.capacity.played import Chance
from rootbound_service.desk.capacity.simulated import play
from rootbound_service.desk.capacity.steps import steps
from rootbound_service.desk.capacity.tables import Table
from rootbound_service.desk.capacity.words import count, lasting, plural

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rootbound_service.desk.capacity.measured import Measured

SIZES = (10_000, 100_000, 1_000_000, 10_000_000, 100_000_000)
PLAYED = SIZES[:3]
NIGHTS, SEED = 3, 1
WIDE = 110
MARKED = ("#", "|", "```", "- ")
BAD = (2, 3)


def page(manners: Manners) -> str:
    """Write the page.

    Parameters
    ----------
    manners
        How hard public services are asked: the service's own settings.
    """
    measured = shipped()
    sizes = [sized(Asked(fields, manners), measured) for fields in SIZES]
    parts = [
        HEAD.format(**_given(manners)),
        DENSE, _markdown(_dense()),
        PULLS.format(pause=f"{manners.pause_s:g}"), _markdown(tables.asking(sizes)),
        WORK, _markdown(tables.working(sizes)),
        TOLD.format(**_given(manners)), _markdown(tables.telling(sizes)),
        COSTS, _markdown(tables.costing(sizes)),
        BREAKS.format(**_given(manners)), *_breaks(manners, measured),
        SIMULATED, *_nights(manners, measured),
        MEASURED, _markdown(_figures(measured)),
        LEFT_OUT,
    ]  # fmt: skip
    return "\n\n".join(_filled(part.strip()) for part in parts) + "\n"


def _given(manners: Manners) -> dict[str, str]:
    """What the page says of its own assumptions."""
    machines, habits = Machines(), Habits()
    return {
        "host": f"{machines.cores} cores, {machines.memory_gb:g} GB of memory, "
        f"{machines.disk_gb:g} GB of disk",
        "mail": f"{machines.mail_per_s:g}",
        "texts": f"{machines.texts_per_s:g}",
        "senders": f"{machines.senders}",
        "night": lasting(habits.night_s),
        "telling": lasting(habits.telling_s),
        "grower": f"{habits.fields_a_grower:g}",
        "adviser": f"{habits.fields_an_adviser:g}",
        "texting": f"{habits.texting:.0%}",
        "bad": f"{habits.drought_share:.0%}",
        "bad_nights": f"{habits.drought_nights}",
        "share": f"{SHARE:.0%}",
        "pause": f"{manners.pause_s:g}",
    }


def _breaks(manners: Manners, measured: Measured) -> Iterator[str]:
    """What breaks first at each size, and what then serves."""
    for fields in SIZES:
        found, last = steps(Asked(fields, manners), measured)
        yield f"### {count(fields)} fields"
        if not found:
            yield "One such host has room for all of it."
            continue
        yield _markdown(tables.mended(found))
        machines = last.asked.machines
        yield (
            f"Then: {machines.hosts} host{plural(machines.hosts)}, {machines.senders} senders, "
            f"{machines.letter_cores} core{plural(machines.letter_cores)} for letters, "
            f"{machines.writers} for rows; "
            f"{count(last.core_hours)} core hours on a usual night."
        )


def _nights(manners: Manners, measured: Measured) -> Iterator[str]:
    """Some nights, on one host and on what the steps came to."""
    for fields in PLAYED:
        first = Asked(fields, manners)
        found, last = steps(first, measured)
        asked = [("on one host as it is", first)]
        if found:
            asked.append(("after the steps above", last.asked))
        for words, one in asked:
            workers = one.machines.hosts * one.machines.cores
            played = play(one, workers, NIGHTS, SEED, measured, Chance(drought=BAD))
            yield f"{count(fields)} fields {words}, {workers} workers:"
            yield _markdown(tables.nights(played))


def _dense() -> Table:
    """How dense maize is."""
    rows = tuple(
        (
            one.part.replace("_", " "),
            one.words,
            count(one.fields),
            count(one.cells),
            count(one.fields / one.cells),
        )
        for one in counties()
    )
    heads = ("where", "counties", "fields there are", "cells they lie in", "fields a cell")
    return Table(heads, rows)


def _figures(measured: Measured) -> Table:
    """Every figure, and where it is from."""
    rows = tuple(
        (
            f"`{one.name}`",
            f"{one.value:g} {one.unit}",
            one.words,
            one.tag,
            f"{one.by} ({one.on}; {one.machine})" if one.tag == "measured" else one.by,
        )
        for one in measured.figures.values()
    )
    return Table(("name", "value", "what", "", "from"), rows)


def _filled(text: str) -> str:
    """Break the lines of plain paragraphs; headings, tables and commands stay."""
    blocks = text.split("\n\n")
    return "\n\n".join(
        block if block.startswith(MARKED) else fill(" ".join(block.split()), WIDE)
        for block in blocks
    )


def _markdown(table: Table) -> str:
    """A table as text."""
    lines = [table.heads, tuple("---" for _ in table.heads), *table.rows]
    return "\n".join(f"| {' | '.join(cell or ' ' for cell in line)} |" for line in lines)
