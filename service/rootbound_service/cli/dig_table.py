"""The dig list on a terminal: a table of figures, then a sentence of why for each field."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

import typer

from rootbound_rules.risk.dig_again import DigAgain
from rootbound_rules.risk.dig_list import FirstDig
from rootbound_service.cli.screen import console, print_table
from rootbound_service.notes.en.dig_words import again_text, dig_why, window_sentence, window_words
from rootbound_service.notes.en.quantities import short_day
from rootbound_service.notes.units import water
from rootbound_service.records import FieldRecord, Units

FIRST_HEADS = (
    "",
    "field",
    "grower",
    "dig window",
    "water at\nplanting",
    "rain at\nplanting",
    "dry\nspell",
    "top dry\nnow",
    "clay",
)
ROOMY, NARROW = 76, (0, 1, 3, 4, 6)
"""From this width on all columns are shown; under it these. [columns]"""
AGAIN_HEADS = ("", "field", "grower", "stage", "last\ndig", "soaking\nrain")
NOTHING = "–"
READING = (
    "Water at planting: of field capacity, in the top layer. Rain: of the three days before and of "
    "planting day. Dry spell: the longest since without a soaking rain. The order is no rating."
)
NO_WEATHER = (
    "Not known: no weather that can be used is stored. rootbound weather pull brings it, rootbound "
    "doctor says what is wrong."
)


def print_first(
    digs: Sequence[FirstDig], fields: Mapping[int, FieldRecord], units: Units | None
) -> None:
    """Print the fields to dig first.

    Parameters
    ----------
    digs
        In their order.
    fields
        By number.
    units
        Units of water; None: those of each grower.
    """
    typer.echo("Dig these first")
    rows = [
        _first_row(dig, fields[dig.field_id], units or fields[dig.field_id].grower.units)
        for dig in digs
    ]
    shown = range(len(FIRST_HEADS)) if console().width >= ROOMY else NARROW
    heads = [FIRST_HEADS[one] for one in shown]
    print_table(heads, [[row[one] for one in shown] for row in rows], whole=("",))
    for dig in digs:
        if said := dig_why(dig):
            say(f"{dig.place} {fields[dig.field_id].name}: {said}")
    for said in dict.fromkeys(_beyond(dig, fields[dig.field_id]) for dig in digs):
        if said:
            say(said)
    if any(dig.spring for dig in digs):
        say(READING)
    if any(dig.window.state == "unknown" for dig in digs):
        say(NO_WEATHER)


def print_again(
    digs: Sequence[DigAgain], fields: Mapping[int, FieldRecord], units: Units | None
) -> None:
    """Print the fields to dig once more.

    Parameters
    ----------
    digs
        In their order.
    fields
        By number.
    units
        Units of water and dates; None: those of each grower.
    """
    typer.echo("\nDig again")
    rows: list[tuple[str, ...]] = []
    for place, dig in enumerate(digs, 1):
        field = fields[dig.field_id]
        read = units or field.grower.units
        rain = f"{water(dig.rain_mm, read)}, {dig.since_soaking} d ago"
        stage, dug = f"V{int(dig.collars)}", short_day(dig.dug_on, read)
        rows.append((str(place), field.name, field.grower.name, stage, dug, rain))
    print_table(AGAIN_HEADS, rows, whole=("",))
    for place, dig in enumerate(digs, 1):
        field = fields[dig.field_id]
        say(f"{place} {field.name}: {again_text(dig, units or field.grower.units)}")


def _beyond(dig: FirstDig, field: FieldRecord) -> str:
    """Say what a dig outside the window can tell; the same sentence for all such fields."""
    if dig.window.state not in {"late", "past", "none"}:
        return ""
    return window_sentence(dig.window, field.crop)


def _first_row(dig: FirstDig, field: FieldRecord, units: Units) -> tuple[str, ...]:
    """One line of the table."""
    head = (str(dig.place), field.name, field.grower.name, window_words(dig.window))
    spring = dig.spring
    if spring is None:
        return (*head, *(NOTHING,) * 5)
    return (
        *head,
        f"{100 * spring.planted_share:.0f}%",
        water(spring.rain_before_mm + spring.rain_planting_mm, units),
        f"{spring.longest_dry} d",
        f"{100 * spring.top_dry:.0f}%",
        f"{spring.clay_pct:.0f}%",
    )


def say(text: str) -> None:
    """Print a paragraph in the width of the screen.

    Parameters
    ----------
    text
        The paragraph.
    """
    width = max(console().width, 40)
    typer.echo(textwrap.fill(text, width, subsequent_indent="  ", break_on_hyphens=False))
