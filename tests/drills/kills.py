"""kill -9 of a process at seeded moments: the worker in its night, the sender in its letters."""

from __future__ import annotations

import time
from random import Random

from drills.child import COMPUTED
from drills.held import Held, Tally, held_by
from drills.moments import Span, last_span, span_of
from drills.processes import BREATH_S, pause, until
from drills.rest import digests, morning, night_is_done, open_letters, run_night
from drills.world import LEASE_OVER, MORNING, NIGHT, Place, World, at

QUIET = 3
"""So many undisturbed nights tell how short one can be: what falls into that hits nearly any."""


def quiet_run(world: World, nights: int = QUIET) -> tuple[Held, Span]:
    """The night and its letters undisturbed, and how long the night takes in a process."""
    spans: list[Span] = []
    for _ in range(nights):
        with world.place() as place:
            spans.append(span_of(run_night(place).text))
            morning(place)
            held = held_by(place)
    return held, min(spans, key=lambda one: one.whole)


def worker(world: World, times: int, seed: int = 1) -> Tally:
    """Kill the worker in its night; the next start runs the night again."""
    tally, rng, begun = Tally("kill worker"), Random(seed), time.monotonic()
    quiet, span = quiet_run(world, min(QUIET, times))
    written = 0
    for number in range(times):
        with world.place() as place:
            moment = span.moment(rng, number)
            first = place.start("worker")
            moment.wait(first)
            cut = first.kill() and not night_is_done(place)
            written += cut and COMPUTED in first.text
            again = run_night(place)
            span = last_span(again.text, span)
            morning(place)
            tally.take(f"{number}, {moment}", held_by(place), quiet, hit=cut)
            tally.hear(again.text)
    tally.notes = [f"{span}; {written} hit it while it was written"]
    tally.seconds = time.monotonic() - begun
    return tally


def sender(world: World, times: int, seed: int = 2) -> Tally:
    """Kill the sender while it sends; the next one takes over when the lease has run out.

    A moment is a letter and a part of the time that one takes: so many are in the mailbox.
    """
    tally, rng, begun = Tally("kill sender"), Random(seed), time.monotonic()
    with world.place() as night:
        run_night(night)
        digests(night)
        quiet, letters, each_s = _sent(world, night)
        for number in range(times):
            with world.place(night) as place:
                place.set(at(NIGHT, MORNING))
                moment = rng.uniform(0, letters)
                first = place.start("send")
                first.wait_ready()
                until(lambda: len(world.box.received) >= int(moment) or not first.alive)  # noqa: B023
                pause(moment % 1 * each_s)
                cut = first.kill() and open_letters(place) > 0
                place.set(at(NIGHT, MORNING) + LEASE_OVER)
                again = place.start("send")
                again.end()
                tally.take(f"{number} at letter {moment:.2f}", held_by(place), quiet, hit=cut)
                tally.hear(again.text)
    tally.notes = [f"{letters} letters in each, {each_s * 1000:.0f} ms a letter"]
    tally.seconds = time.monotonic() - begun
    return tally


def _sent(world: World, night: Place) -> tuple[Held, int, float]:
    """The letters of a quiet run, how many they are, and how long each takes. [s]"""
    with world.place(night) as place:
        place.set(at(NIGHT, MORNING))
        sending, came = place.start("send"), dict[int, float]()
        while sending.alive:
            came.setdefault(len(world.box.received), time.monotonic())
            pause(BREATH_S)
        many = len(world.box.received)
        return held_by(place), many, (came[many] - came[1]) / (many - 1)
