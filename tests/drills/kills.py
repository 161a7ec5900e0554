"""kill -9 of each process at seeded moments: the worker in its night, the sender, the web."""

from __future__ import annotations

import time
from random import Random

from drills.held import Held, Tally, held_by
from drills.processes import BREATH_S, pause
from drills.rest import morning, night_is_done, run_night
from drills.world import LEASE_OVER, MORNING, NIGHT, Place, World, at


def quiet_run(world: World) -> tuple[Held, float]:
    """The night and its letters undisturbed, and how long the night takes in a process. [s]"""
    with world.place() as place:
        begun = time.monotonic()
        run_night(place)
        took = time.monotonic() - begun
        morning(place)
        return held_by(place), took


def worker(world: World, times: int, seed: int = 1) -> Tally:
    """Kill the worker in its night; the next start runs the night again."""
    tally, rng, begun = Tally("kill worker"), Random(seed), time.monotonic()
    quiet, took = quiet_run(world)
    for number in range(times):
        with world.place() as place:
            first = place.start("worker")
            first.wait_ready()
            moment = rng.uniform(0, took)
            pause(moment)
            cut = first.kill() and not night_is_done(place)
            again = run_night(place)
            morning(place)
            tally.take(f"{number} at {moment:.2f} s", held_by(place), quiet, hit=cut)
            tally.hear(again.text)
    tally.seconds = time.monotonic() - begun
    return tally


def sender(world: World, times: int, seed: int = 2) -> Tally:
    """Kill the sender while it sends; the next one takes over when the lease has run out."""
    tally, rng, begun = Tally("kill sender"), Random(seed), time.monotonic()
    with world.place() as night:
        run_night(night)
        quiet, took = _sent(world, night)
        for number in range(times):
            with world.place(night) as place:
                place.set(at(NIGHT, MORNING))
                first = place.start("send")
                first.wait_ready()
                moment = rng.uniform(0, took)
                pause(moment)
                cut = first.kill()
                place.set(at(NIGHT, MORNING) + LEASE_OVER)
                again = place.start("send")
                again.end()
                tally.take(f"{number} at {moment:.2f} s", held_by(place), quiet, hit=cut)
                tally.hear(again.text)
    tally.seconds = time.monotonic() - begun
    return tally


def _sent(world: World, night: Place) -> tuple[Held, float]:
    """The letters of a quiet run, and how long it takes until the last of them is there. [s]"""
    with world.place(night) as place:
        place.set(at(NIGHT, MORNING))
        sending = place.start("send")
        sending.wait_ready()
        begun, letters, took = time.monotonic(), 0, 0.0
        while sending.alive:
            if len(world.box.received) > letters:
                letters, took = len(world.box.received), time.monotonic() - begun
            pause(BREATH_S)
        return held_by(place), took + world.box._answer_s
