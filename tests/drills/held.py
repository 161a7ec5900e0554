"""What must hold after every disturbance: what the store and the mailbox hold, and what differs."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

from sqlalchemy import func, select

from drills.world import Place
from rootbound_service.store.schema import kept_answer, note, outbox, risk, run

SAID = re.compile(r"\] (\w*(?:mended|taken_over|takes_over|again|cut_off|night_done)\w*)")
"""Lines of the log by which a start says what it mended."""
OWN = ("operator", "answer")
"""Kinds that tell of the disturbance itself: there may be more of them than in a quiet run."""
BROUGHT = ("season_id", "night", "status", "rung", "free_rung", "said_rung", "reason", "reach")


@dataclass(frozen=True, slots=True)
class Held:
    """What one run came to."""

    notes: frozenset[tuple[object, ...]]
    messages: frozenset[tuple[object, ...]]
    """Key and fate of each, the operator's left out."""
    risks: frozenset[tuple[object, ...]]
    letters: frozenset[str]
    """Message-IDs in the mailbox."""
    twice: int = 0
    """Letters that came again under the same name."""
    faults: tuple[str, ...] = ()
    """What must never be, whatever a quiet run holds."""


@dataclass(slots=True)
class Tally:
    """One line of the table."""

    drill: str
    moments: int = 0
    hit: int = 0
    """Moments in which something was really cut off."""
    healed: int = 0
    lost: int = 0
    doubled: int = 0
    """Rows, notes or messages that are there twice."""
    twice: int = 0
    """Letters that came again, each with the Message-ID it had."""
    seconds: float = 0.0
    wrong: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    """What else there is to know of the drill."""
    said: Counter[str] = field(default_factory=Counter)
    """What the next start said it did, by the line."""

    def take(self, moment: str, held: Held, quiet: Held, *, hit: bool) -> None:
        """Count one moment against the run that nothing disturbed."""
        self.moments += 1
        self.hit += hit
        lost, more = missing(quiet, held), missing(held, quiet)
        self.lost += len(lost)
        self.doubled += len(more)
        self.twice += held.twice
        self.healed += not (lost or more or held.faults)
        for what in (*(f"lost {one}" for one in lost), *(f"too much {one}" for one in more)):
            self.wrong.append(f"{self.drill}, {moment}: {what}")
        self.wrong += [f"{self.drill}, {moment}: {one}" for one in held.faults]

    def line(self) -> str:
        """The line of the table."""
        return (
            f"{self.drill:20} {self.moments:7} {self.hit:5} {self.healed:6} {self.lost:5} "
            f"{self.doubled:7} {self.twice:5} {self.seconds:7.0f}"
        )

    def hear(self, text: str) -> None:
        """Keep what a start said it mended."""
        for line in text.splitlines():
            found = SAID.search(line)
            if found:
                self.said[found[1]] += 1


def missing(whole: Held, part: Held) -> list[object]:
    """What one run holds and another does not."""
    names = ("notes", "messages", "risks", "letters")
    return [one for name in names for one in getattr(whole, name) - getattr(part, name)]


def held_by(place: Place) -> Held:
    """Read what a place holds, once everything has come to rest."""
    letters: dict[str, set[bytes]] = {}
    many: Counter[str] = Counter()
    for one in place.world.box.received:
        if one.recipient.startswith("operator@"):
            continue
        name = str(one.mail["Message-ID"])
        letters.setdefault(name, set()).add(without_date(one.raw))
        many[name] += 1
    with place.service() as service, service.engine.connect() as conn:
        notes = conn.execute(
            select(note.c.dedupe_key, note.c.from_rung, note.c.to_rung, note.c.reason)
        ).all()
        rows = conn.execute(select(outbox.c.dedupe_key, outbox.c.status, outbox.c.kind)).all()
        risks = conn.execute(select(*(risk.c[name] for name in BROUGHT))).all()
        doubled = conn.execute(
            select(risk.c.season_id, risk.c.night)
            .group_by(risk.c.season_id, risk.c.night)
            .having(func.count() > 1)
        ).all()
        leased = conn.scalar(select(func.count()).where(outbox.c.status == "sending"))
        open_runs = conn.scalar(select(func.count()).where(run.c.finished_at.is_(None)))
        held = conn.scalar(select(func.count()).where(kept_answer.c.status == 0))
    faults = [f"risk row twice: {tuple(one)}" for one in doubled]
    faults += [f"{leased} messages still leased"] if leased else []
    faults += [f"{open_runs} nights not finished"] if open_runs else []
    faults += [f"{held} requests still held"] if held else []
    faults += [f"{name} came twice and differs" for name, raws in letters.items() if len(raws) > 1]
    return Held(
        frozenset(tuple(one) for one in notes),
        frozenset((one.dedupe_key, one.status) for one in rows if one.kind not in OWN),
        frozenset(tuple(one) for one in risks),
        frozenset(letters),
        sum(many.values()) - len(many),
        tuple(faults),
    )


def without_date(raw: bytes) -> bytes:
    """A letter but for the line that says when it was handed over."""
    head, gap, body = raw.partition(b"\r\n\r\n")
    lines = [one for one in head.split(b"\r\n") if not one.lower().startswith(b"date:")]
    return b"\r\n".join(lines) + gap + body
