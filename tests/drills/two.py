"""Two workers, and the one that leads fails in the middle of its night or of its letters.

It is killed; or its lead is taken from it while it lives; or it is stopped, loses its lead, and
wakes when the other has done its work. Nothing may be told or sent twice, the other takes over
and says so, and whoever lost the lead begins nothing any more. What this cannot spare: a letter
that the relay was just taking when its sender was stopped comes again, under the same name.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from random import Random

from drills.child import BEGUN, OVER
from drills.held import Held, Tally, held_by
from drills.moments import Span, last_span, said_at, span_of
from drills.pair import SOON_S, Pair, a_pair
from drills.processes import Hangs, pause, until
from drills.rest import morning
from drills.world import ANSWER_S, LEASE_OVER, MORNING, NIGHT, SMALL_HOURS, World, at
from rootbound_service.worker.lead import ASK_S

SLEEPS_S = 12.0
"""One that sleeps with a transaction open holds the other up: no longer than that. [s]"""
STILL_S = 1.5
"""After so long without a letter no more are coming. [s]"""

Way = Callable[[Pair], None]


def killed(world: World, times: int) -> Tally:
    """Kill the leader in its night."""
    return _disturbed(world, times, Tally("two, one killed"), Pair.kill, Random(6))


def taken(world: World, times: int) -> Tally:
    """The lead taken from a leader that goes on with its night."""
    return _disturbed(world, times, Tally("two, lead taken"), Pair.take_lead, Random(9))


def asleep(world: World, times: int) -> Tally:
    """The leader stopped in its night, and woken when the other has done it."""
    return _disturbed(world, times, Tally("two, one asleep"), _sleep, Random(10))


def sending(world: World, times: int) -> Tally:
    """The leader stopped while it sends, and woken when the other has sent the rest."""
    tally, rng, begun = Tally("two, asleep sending"), Random(11), time.monotonic()
    quiet, _ = _quiet(world)
    for number in range(times):
        moment = rng.uniform(0, len(quiet.letters))
        with a_pair(world, rng.choice((SOON_S, ASK_S)), one_folder=number % 4 > 1) as pair:
            box = world.box.received
            _to_night(pair)
            until(lambda pair=pair: OVER in pair.first.text)
            pair.set(at(NIGHT, MORNING))
            before = len(box)
            until(lambda: len(box) >= before + int(moment))  # noqa: B023
            pause(moment % 1 * ANSWER_S)
            cut = len(box) < before + len(quiet.letters)
            _sleep(pair, at(NIGHT, MORNING) + LEASE_OVER)
            _judge(pair, tally, quiet, f"{number} at letter {moment:.2f}", hit=cut)
    tally.seconds = time.monotonic() - begun
    return tally


def _disturbed(world: World, times: int, tally: Tally, way: Way, rng: Random) -> Tally:
    begun = time.monotonic()
    quiet, span = _quiet(world)
    twice = 0
    for number in range(times):
        moment = span.moment(rng, number)
        with a_pair(world, rng.choice((SOON_S, ASK_S)), one_folder=number % 4 > 1) as pair:
            _to_night(pair)
            moment.wait(pair.first)
            cut = OVER not in pair.first.text
            way(pair)
            until(lambda pair=pair: pair.taken_over() or not pair.second.alive)
            pair.rest()
            both = cut and BEGUN in pair.second.text
            texts = [one.text for one in (pair.first, pair.second)]
            over = [one for one in texts if said_at(one, OVER)]
            twice += len(over) > 1
            span = last_span(over[-1], span) if over else span
            pair.set(at(NIGHT, MORNING))
            _judge(pair, tally, quiet, f"{number}, {moment}", hit=both)
    tally.notes = [f"{span}; both brought the night to its end in {twice}"]
    tally.seconds = time.monotonic() - begun
    return tally


def _quiet(world: World) -> tuple[Held, Span]:
    """The same hours undisturbed: the second waits all the time."""
    with a_pair(world, ASK_S) as pair:
        _to_night(pair)
        until(lambda: OVER in pair.first.text)
        pair.rest()
        pair.set(at(NIGHT, MORNING))
        pair.rest()
        assert not pair.taken_over()
        return _stopped(pair), span_of(pair.first.text)


def _to_night(pair: Pair) -> None:
    pair.set(at(NIGHT, SMALL_HOURS))


def _judge(pair: Pair, tally: Tally, quiet: Held, name: str, *, hit: bool) -> None:
    """Let the letters go, look at who lives and what was said, then at what is held."""
    try:
        pair.rest()
    except Hangs as fault:
        tally.wrong.append(f"{tally.drill}, {name}: {fault}")
    wrong = pair.wrong()
    held = _stopped(pair)
    folder = "one folder" if pair.places[0] is pair.places[1] else "two folders"
    tally.take(f"{name}, {folder}", replace(held, faults=(*held.faults, *wrong)), quiet, hit=hit)
    tally.hear(pair.second.text)


def _stopped(pair: Pair) -> Held:
    for one in (pair.first, pair.second):  # who waits first: it is not to take over now
        one.stop()
    morning(pair.places[0])
    return held_by(pair.places[0])


def _sleep(pair: Pair, wakes: datetime | None = None) -> None:
    """Stop the first, take its lead, wake it when the other is done or long enough over it."""
    pair.first.sleep()
    pair.take_lead()
    if wakes:
        pair.set(wakes)
    end, box = time.monotonic() + SLEEPS_S, pair.places[0].world.box.received
    done = OVER if wakes is None else "worker_started"
    until(lambda: done in pair.second.text or time.monotonic() > end or not pair.second.alive)
    many = -1
    while many != len(box):  # until no letter comes any more
        many = len(box)
        pause(STILL_S)
    pair.first.wake()
