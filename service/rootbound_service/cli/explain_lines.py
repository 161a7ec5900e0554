"""An explanation as lines of text, none wider than a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.nights.explain_again import Again
    from rootbound_service.nights.explain_step import Days, Figure, Step, Value

WIDTH, MARGIN = 80, 38
SHOWN = 12
"""Differences told one by one; --json has all."""


def step_lines(number: int, step: Step) -> Iterator[str]:
    """Lay one step out.

    Parameters
    ----------
    number
        Its place in the order.
    step
        The step.

    Yields
    ------
    str
        Lines, an empty one first.
    """
    yield ""
    yield f"{number}. {step.title}"
    for figure in step.figures:
        yield figure_line(figure)
    if step.table is not None and step.table.rows:
        yield from table_lines(step.table)
    for sentence in step.words:
        yield filled(sentence, "   ")
    if step.works:
        yield filled("from " + "; ".join(step.works), "   ", "     ")


def figure_line(figure: Figure) -> str:
    """One figure with its unit and source, wrapped under its value."""
    source = f"  [{figure.source}]" if figure.source else ""
    text = f"{value_text(figure.value)} {figure.unit}".rstrip() + source
    return filled(text, f"   {figure.name:<{MARGIN - 4}} ", " " * MARGIN)


def table_lines(table: Days) -> Iterator[str]:
    """Lay a table out, its heads with their units above.

    Parameters
    ----------
    table
        Whose first column is a name or a day.
    """
    units = [table.units] if any(table.units) else []
    cells = [table.heads, *units, *([value_text(one) for one in row] for row in table.rows)]
    widths = [max(len(row[column]) for row in cells) for column in range(len(table.heads))]
    gap = "  " if sum(widths) + 2 * len(widths) + 3 <= WIDTH else " "
    for row in cells:
        first, *others = (
            one.ljust(wide) if not place else one.rjust(wide)
            for place, (one, wide) in enumerate(zip(row, widths, strict=True))
        )
        yield ("   " + gap.join((first, *others))).rstrip()


def value_text(value: Value) -> str:
    """A value with as many digits as a reader wants."""
    if value is None:
        return "-"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 10_000 else f"{value + 0.0:.4g}"  # noqa: PLR2004
    return str(value)


def verdict_lines(again: Again) -> Iterator[str]:
    """Say whether the note came out the same.

    Parameters
    ----------
    again
        The note computed again.
    """
    if not again.same_rules:
        yield filled(
            f"The rules have changed since: {again.rules_then} then, {again.rules_now} now. "
            "Differences are to be expected."
        )
    if again.same:
        yield f"Same to the digit: {again.compared} figures, computed again from the evidence."
    else:
        count = len(again.differences)
        yield f"Not the same: {count} of {again.compared} figures differ."
        yield from _differences(again)
    if again.changed_packages:
        yield filled("Computed then with " + "; ".join(again.changed_packages) + ".")


def _differences(again: Again) -> Iterator[str]:
    """The first differences, every digit shown."""
    for one in again.differences[:SHOWN]:
        yield filled(f"{one.name}: kept {one.kept}, now {one.again}", "   ", "      ")
    if len(again.differences) > SHOWN:
        yield f"   and {len(again.differences) - SHOWN} more: --json shows them"


def filled(text: str, first: str = "", later: str | None = None) -> str:
    """Wrap a text to the width; ``later`` begins every line but the first."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=first if later is None else later,
        break_on_hyphens=False,
    )


def lines_of(steps: Sequence[Step]) -> Iterator[str]:
    """Lay steps out in their order.

    Parameters
    ----------
    steps
        The steps.
    """
    for number, step in enumerate(steps, 1):
        yield from step_lines(number, step)
