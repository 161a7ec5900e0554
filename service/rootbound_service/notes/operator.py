"""The operator's morning: what the night came to, and what waits for a hand, in one letter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from html import escape

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.notes.en.quantities import count
from rootbound_service.records import OutboxMessage

LIFE = timedelta(days=2)
"""After so long the next nights have told it again, or it is over."""


@dataclass(frozen=True, slots=True)
class Morning:
    """What an operator wants to know in the morning, as values."""

    night: date | None
    """The last night that was finished; None: none yet."""
    minutes: float | None
    """How long it took. [min]"""
    fields_ok: int
    fields_failed: int
    rungs: tuple[int, int, int, int, int]
    """Watched fields by rung."""
    unrated: int
    notes: int
    messages: dict[str, int]
    """Of the past day, by status."""
    weather: str
    """What the sources did."""
    troubles: tuple[str, ...]
    """What needs a hand, a sentence each."""


def morning_message(morning: Morning, address: str, now: datetime) -> OutboxMessage:
    """Word the report of a morning.

    Parameters
    ----------
    morning
        What there is to tell.
    address
        Of the operator.
    now
        The time, aware UTC; the day names the report.
    """
    lines, subject = _lines(morning), _subject(morning)
    text = "\n".join([subject, "", *(f"{label}: {told}" for label, told in lines), ""])
    if morning.troubles:
        text += "\n".join(["", "Needs a hand:", *(f"- {one}" for one in morning.troubles), ""])
    page = _page(subject, lines, morning.troubles)
    return to_operator(subject, (text, page), address, now, f"morning-{now.date()}", "-morning")


def to_operator(
    subject: str,
    bodies: tuple[str, str],
    address: str,
    now: datetime,
    mark: str,
    thread: str = "",
) -> OutboxMessage:
    """Address a letter to the operator.

    Parameters
    ----------
    subject
        What it is about.
    bodies
        Its text and its HTML.
    address
        Of the operator.
    now
        The time, aware UTC.
    mark
        What tells it from every other one.
    thread
        Which of their threads it belongs to; empty: that of what went wrong.
    """
    text, html = bodies
    return OutboxMessage(
        dedupe_key=f"operator-{mark}",
        kind="operator",
        channel="email",
        person_id=None,
        to_address=address,
        to_name="Operator",
        subject=subject,
        text=text,
        html=html,
        images={},
        created_at=now,
        available_at=now,
        not_after=now + LIFE,
        priority=0,
        thread_key=f"operator{thread}",
    )


def _subject(morning: Morning) -> str:
    if morning.night is None:
        return "Morning report: no night has been run yet"
    state = f"{count(len(morning.troubles), 'thing needs', 'things need')} a hand"
    well = state if morning.troubles else "all well"
    return f"Morning report, night of {morning.night}: {well}"


def _lines(morning: Morning) -> list[tuple[str, str]]:
    """Labelled lines of figures."""
    rungs = ", ".join(
        f"{many} {name}"
        for many, name in zip(morning.rungs[::-1], RUNG_NAMES[::-1], strict=True)
        if many
    )
    took = "" if morning.minutes is None else f", in {morning.minutes:.1f} min"
    sent = ", ".join(f"{many} {status}" for status, many in morning.messages.items() if many)
    return [
        (
            "Fields",
            f"{morning.fields_ok} computed, {morning.fields_failed} without an answer{took}",
        ),
        ("Rungs", f"{rungs or 'none on the ladder'}; {morning.unrated} not dug"),
        ("Notes", f"{morning.notes} decided"),
        ("Messages of the past day", sent or "none"),
        ("Weather", morning.weather or "no word of it"),
    ]


def _page(subject: str, lines: list[tuple[str, str]], troubles: tuple[str, ...]) -> str:
    rows = "".join(
        f'<tr><th align="left" valign="top" style="padding:4px 14px 4px 0">{escape(label)}</th>'
        f'<td style="padding:4px 0">{escape(told)}</td></tr>'
        for label, told in lines
    )
    items = "".join(f"<li>{escape(one)}</li>" for one in troubles)
    hand = f"<h2>Needs a hand</h2><ul>{items}</ul>" if troubles else ""
    style = "font-family:Helvetica,Arial,sans-serif;font-size:15px;line-height:1.45"
    return (
        f'<html><body style="{style}"><h1 style="font-size:20px">{escape(subject)}</h1>'
        f"{hand}<table>{rows}</table></body></html>"
    )
