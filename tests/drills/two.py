"""Two workers started at once on one database: nothing is computed, told or sent twice."""

from __future__ import annotations

import time
from random import Random

from sqlalchemy import func, select

from drills.held import Held, Tally, held_by
from drills.processes import Running, pause, until
from drills.rest import LAST, morning, seen
from drills.world import MORNING, NIGHT, Place, World, at
from rootbound_service.store.runs import last_run
from rootbound_service.store.schema import outbox


def two(world: World, times: int, seed: int = 6) -> Tally:
    """Start two workers, each with a data folder of its own, a seeded moment apart."""
    tally, rng, begun = Tally("two schedulers"), Random(seed), time.monotonic()
    quiet, _ = _together(world, None)
    for number in range(times):
        moment = rng.choice((0.0, rng.uniform(0, 0.3), rng.uniform(0, 4)))
        held, both = _together(world, moment)
        tally.take(f"{number}, {moment:.2f} s apart", held, quiet, hit=both)
    tally.seconds = time.monotonic() - begun
    return tally


def _together(world: World, apart: float | None) -> tuple[Held, bool]:
    """What one worker comes to, or two; whether both had the night in hand."""
    with world.place() as place, world.place() as other:
        other.url = place.url
        for one in (place, other):
            one.set(at(NIGHT, MORNING))
        working = [_worker(place)]
        if apart is not None:
            pause(apart)
            working.append(_worker(other))
        until(lambda: _is_over(place, working) and _is_over(place, working))
        for one in working:
            one.stop()
        morning(place)
        return held_by(place), sum("night_done" in one.text for one in working) > 1


def _worker(place: Place) -> Running:
    running = place.start("worker", DRILL_EVERY_S="1")
    running.wait_ready()
    return running


def _is_over(place: Place, working: list[Running]) -> bool:
    """The night is there and nothing waits any more."""
    if not any("night_done" in one.text or not one.alive for one in working):
        return False
    pause(1.5)  # longer than a round of either
    if not {LAST, "job digest"} <= set(seen(place)):
        return False
    with place.service() as service, service.engine.connect() as conn:
        run = last_run(conn, finished_only=True)
        waits = outbox.c.status.in_(("pending", "sending"))
        waiting = conn.scalar(select(func.count()).where(waits))
    return run is not None and run.night == NIGHT and not waiting
