"""Tables, pictures and figures as the report writes them."""

from __future__ import annotations

import base64
from html import escape
from typing import Any


def percent(value: float | None, digits: int = 0) -> str:
    """Return a share in per cent, a dash where there is none."""
    return "–" if value is None else f"{100 * value:.{digits}f} %"


def pm(one: dict[str, Any]) -> str:
    """Two standard errors in points."""
    return f"{200 * one['error']:.1f}"


def cover(one: dict[str, Any]) -> str:
    """A share with two standard errors."""
    if one["share"] is None:
        return "–"
    return f"{100 * one['share']:.1f} ± {200 * one['error']:.1f} %"


def of(one: dict[str, Any]) -> str:
    """A skill with two standard errors."""
    return f"{100 * one['skill']:.0f} ± {200 * one['error']:.0f} %"


def table(head: tuple[str, ...], rows: list[tuple[Any, ...]]) -> str:
    """A plain table."""
    top = "".join(f"<th scope=col>{escape(cell)}</th>" for cell in head)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(str(cell))}</td>" for cell in row) + "</tr>" for row in rows
    )
    return (
        f"<div class=wide><table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def picture(png: bytes, alt: str) -> str:
    """A picture inside the page."""
    data = base64.b64encode(png).decode("ascii")
    return f'<img alt="{escape(alt)}" src="data:image/png;base64,{data}">'


def covers(groups: dict[str, dict[str, Any]]) -> str:
    """Table of ranges that held the truth."""
    head = (
        "80 % ranges", "Seasons", "Nights", "One night a season, ties shared",
        "All nights, ties shared", "All nights, ends count", "In whole units", "Truth below",
        "Truth above",
    )  # fmt: skip
    rows = [
        (
            label, one["all_nights"]["seasons"], one["all_nights"]["cases"],
            cover(one["one_night_ties_shared"]), cover(one["all_nights_ties_shared"]),
            cover(one["all_nights"]), cover(one["all_nights_whole_units"]),
            percent(one["under"], 1), percent(one["over"], 1),
        )
        for label, one in groups.items()
    ]  # fmt: skip
    return table(head, rows)
