"""The card of one field's night: how it stands, what comes, and its notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rootbound_service.cli.card import SHOWN, entry
from rootbound_service.notes.en import ahead_words, particulars, wording
from rootbound_service.notes.en.reasons import reason_sentence

if TYPE_CHECKING:
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import NoteRecord, Units


def night_lines(facts: FieldFacts | None, units: Units, members: int = 0) -> Iterator[str]:
    """How the field stands and what comes, in the words its notes use.

    Parameters
    ----------
    facts
        None before the first night.
    units
        The reader's units.
    members
        Past summers in the outlook; 0 when not known.
    """
    if facts is None:
        yield entry("rung", "not computed yet")
        return
    yield entry("rung", wording.status_label(facts))
    yield from _told(
        ("why", _together(_why(facts), wording.cause(facts))),
        ("stage", particulars.stage_line(facts) if facts.stage else ""),
    )
    if facts.status in {"watched", "unrated"}:
        yield from _told(*_known(facts, units, members))
    yield entry("weather", particulars.weather_line(facts, units))


def note_lines(notes: Sequence[NoteRecord]) -> Iterator[str]:
    """Its notes, latest first, by the numbers that explain them."""
    if not notes:
        return
    yield ""
    yield f"Notes (rootbound explain {notes[0].id} computes one again)"
    for note in notes[:SHOWN]:
        changed = f"from {_rung(note.from_rung)} to {_rung(note.to_rung)}"
        yield entry(f"{note.id:>5}", f"{note.night}  {changed}: {note.reason.replace('_', ' ')}")
    if len(notes) > SHOWN:
        yield entry("", f"{len(notes) - SHOWN} earlier: rootbound notes lists them all")


def _known(facts: FieldFacts, units: Units, members: int) -> list[tuple[str, str]]:
    """What tonight's figures say, and how sure they are."""
    rated = facts.status == "watched"
    sure = _together(wording.sure_line(facts, members), ahead_words.worse_line(facts))
    return [
        ("water", wording.water_line(facts, units)),
        ("when", ahead_words.when_line(facts, units)),
        ("days ahead", wording.ahead_line(facts.days_ahead) if rated else ""),
        ("outlook", sure),
        ("roots", ahead_words.roots_line(facts, units)),
        ("more plants", ahead_words.plants_line(facts)),
        ("exposure", ahead_words.exposure_line(facts) if rated else ""),
        ("counted", ahead_words.observed_line(facts, units)),
    ]


def _why(facts: FieldFacts) -> str:
    """Why it stands there, or why it has no rung."""
    without = "" if facts.rung is not None else reason_sentence(facts.reason, 0)
    return wording.why(facts) or without or wording.change(facts)


def _told(*lines: tuple[str, str]) -> Iterator[str]:
    """The entries that have something to say."""
    for head, text in lines:
        if text:
            yield entry(head, text)


def _together(*sentences: str) -> str:
    return " ".join(one for one in sentences if one)


def _rung(rung: int | None) -> str:
    return "none" if rung is None else wording.rung_label(rung)
