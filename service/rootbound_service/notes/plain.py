"""Plain-text typesetting for the text part of a letter: everything under 72 columns."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from rootbound_service.notes.views import FieldView

WIDTH = 71


def fill(text: str, first: str = "", rest: str = "") -> str:
    """Wrap a paragraph; ``first`` and ``rest`` go before its first and its other lines."""
    return textwrap.fill(
        " ".join(text.split()),
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )


def item(text: str, label: str) -> str:
    """Return a labelled paragraph, its further lines indented."""
    return fill(f"{label} {text}", "  ", "    ")


def ruled(text: str) -> str:
    """Return a heading with a rule under it."""
    heading = fill(text)
    return f"{heading}\n{'-' * max(len(line) for line in heading.splitlines())}"


def entry(view: FieldView, show_grower: bool) -> str:  # noqa: FBT001 - a template filter
    """Return one field of a table as a short paragraph."""
    grower = f", {view.grower}" if show_grower and view.grower else ""
    came = f" ({view.short_change})" if view.short_change else ""
    title = fill(f"[{view.chip}] {view.name}{grower}{came}", "", "    ")
    body = f"{say.waters_line(view.held_water, view.free_water)} {view.line}".strip()
    return f"{title}\n{fill(body, '    ', '    ')}"


FILTERS: dict[str, Callable[..., Any]] = {
    "fill": fill,
    "item": item,
    "upper_rule": ruled,
    "entry": entry,
}
