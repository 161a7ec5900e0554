"""The clock set back between nights: what was told is not told again, what waits still goes."""

from __future__ import annotations

import time
from datetime import timedelta

from drills.held import Held, Tally, held_by
from drills.processes import pause, until
from drills.rest import morning, run_night
from drills.world import LEASE_OVER, MORNING, NIGHT, SMALL_HOURS, Place, World, at
from rootbound_service.worker.ticks import digest_tick

NEXT = NIGHT + timedelta(days=1)
BACK = (timedelta(hours=2), timedelta(days=2))
MOMENTS = ("after the night", "before its letters", "while they are sent")


def clock_back(world: World, times: int) -> Tally:
    """Set it back by two hours and two days at three points of a night, one night between."""
    del times  # each case is one of its kind
    tally, begun = Tally("clock set back"), time.monotonic()
    quiet = _lived(world, None, timedelta())
    for back in BACK:
        for moment in MOMENTS:
            tally.take(f"{back} {moment}", _lived(world, moment, back), quiet, hit=True)
    tally.seconds = time.monotonic() - begun
    return tally


def _lived(world: World, moment: str | None, back: timedelta) -> Held:
    """Two nights and their mornings, the clock set back once in between."""
    with world.place() as place:
        run_night(place)
        if moment == "before its letters":
            _at_wrong_time(place, at(NIGHT, MORNING) - back)
        if moment == "while they are sent":
            place.set(at(NIGHT, MORNING))
            with place.service() as service:
                digest_tick(service)  # as every other morning has it
            sending = place.start("send")
            until(lambda: bool(world.box.received))
            sending.kill()
            place.set(at(NIGHT, MORNING) - back + LEASE_OVER)
            place.start("send").end()  # what the dead sender had in hand is due by this clock
        else:
            morning(place)
        if moment == "after the night":
            _at_wrong_time(place, at(NIGHT, MORNING) - back)
        place.set(at(NEXT, SMALL_HOURS))
        run_night(place, NEXT)
        morning(place, NEXT)
        return held_by(place)


def _at_wrong_time(place: Place, moment: object) -> None:
    """A worker lives a while by the wrong time."""
    place.set(moment)  # type: ignore[arg-type]
    worker = place.start("worker", DRILL_EVERY_S="1")
    until(lambda: "worker_started" in worker.text or not worker.alive)
    pause(2.5)
    worker.stop()
