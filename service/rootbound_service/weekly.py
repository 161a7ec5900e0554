"""The week, told in order: who is still to be written to, compute, compare, write, claim.

A letter and the mark that it was written are stored in one transaction, so that neither a
crash nor a second worker makes two letters of one, or none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nightly import decide_all
from rootbound_service.nights.dig_list import dig_list
from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import gather, people_of
from rootbound_service.nights.operator import in_short
from rootbound_service.notes.digest import compose_digest
from rootbound_service.notes.occasion import Occasion
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import list_people
from rootbound_service.store.risk import risk_on
from rootbound_service.store.runs import claim_period, claimed_periods

if TYPE_CHECKING:
    from rootbound_service.nights.parts import Decided
    from rootbound_service.notes.dig_lists import DigList
    from rootbound_service.records import OutboxMessage, Person, RiskRecord
    from rootbound_service.wiring import Parts

JOB = "digest"
_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True, eq=False)
class _Week:
    """What the letters of one week are written from."""

    decided: list[Decided]
    week_ago: dict[int, RiskRecord]
    digs: DigList | None


def write_digests(
    parts: Parts, night: date, people: list[Person] | None = None, week: str | None = None
) -> int:
    """Put the weekly letters of a night in the outbox.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night they tell of.
    people
        Who gets one; None for everybody who has a field.
    week
        The week that names them, as ``2026-W29``; None for that of the night.

    Returns
    -------
    int
        Letters that are new: one of the same week and person is not written twice.
    """
    label = week or week_of(night)
    with parts.engine.execution_options(ro=True).connect() as conn:
        everybody = list_people(conn) if people is None else people
        written = claimed_periods(conn, JOB, f" {label}")
        readers = [one for one in everybody if _period(one, label) not in written]
        week_ago = risk_on(conn, night - timedelta(days=7)) if readers else {}
    if not readers:
        return 0
    gathered = gather(parts, night, pull=False, whose={one.id for one in readers})
    decided = decide_all(gathered, parts.settings.weather_stale_days)
    counts = [one.computed.assessment.members for one in decided if one.computed.assessment]
    occasion = Occasion(now=parts.clock.now(), members=max(counts, default=0))
    told = _Week(decided, week_ago, _digs(decided, night))
    return sum(_write_one(parts, one, told, occasion, label) for one in readers)


def week_of(day: date) -> str:
    """Name of the week of a day, as ``2026-W29``.

    Parameters
    ----------
    day
        The day.
    """
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def night_of_week(week: str | None, today: date) -> date:
    """The night a week's letter tells of: today in this week, else the week's Sunday.

    Parameters
    ----------
    week
        As ``2026-W29``; None for this week.
    today
        The day it is.
    """
    if week is None:
        return today
    year, number = int(week[:4]), int(week[6:])
    return min(date.fromisocalendar(year, number, 7), today)


def _digs(decided: list[Decided], night: date) -> DigList | None:
    """Order of the fields to dig; a letter goes without one rather than not at all."""
    try:
        return dig_list((one.computed for one in decided), night)
    except Exception as error:  # noqa: BLE001  the letter matters more than the order
        _log.error("dig_list_failed", error=in_short(error))
        return None


def _write_one(
    parts: Parts,
    person: Person,
    told: _Week,
    occasion: Occasion,
    label: str,
) -> int:
    """Write one reader's letter and mark the week as written, both or neither."""
    try:
        letter = _letter(person, told, occasion, label)
        with parts.engine.begin() as conn:
            if not claim_period(conn, JOB, _period(person, label), occasion.now):
                return 0
            return enqueue(conn, [letter]) if letter else 0
    except Exception as error:  # noqa: BLE001  one letter never stops the others
        # unclaimed, it is tried again at the next tick
        _log.error("letter_failed", person=person.id, week=label, error=in_short(error))
        return 0


def _letter(person: Person, told: _Week, occasion: Occasion, label: str) -> OutboxMessage | None:
    """One reader's letter; None without a field, or once all were told to be finished."""
    mine = [one for one in told.decided if person in people_of(one.computed.field)]
    before = {one.risk.season_id: told.week_ago.get(one.risk.season_id) for one in mine}
    if all(_is_old_news(one, before[one.risk.season_id]) for one in mine):
        return None
    facts = [
        facts_of(one, then.rung if (then := before[one.risk.season_id]) else None) for one in mine
    ]
    # named by the reader's own week: where Monday comes before the night of Monday, the
    # letter tells of Sunday's night, which lies in the week before
    letter = compose_digest(person, facts, occasion, told.digs)
    return replace(letter, dedupe_key=f"{JOB}-{person.id}-{label}")


def _is_old_news(one: Decided, then: RiskRecord | None) -> bool:
    """Tell whether a field's season was over a week ago already."""
    return one.computed.status == "finished" and then is not None and then.status == "finished"


def _period(person: Person, label: str) -> str:
    """Name of one reader's week."""
    return f"{person.id} {label}"
