"""Two workers of one database, both in being before a night is due, and how the lead is lost."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, time
from pathlib import Path

from sqlalchemy import make_url, text

from drills.child import BEGUN, TICK
from drills.moments import said_at
from drills.processes import Running, pause, until
from drills.rest import open_letters, seen
from drills.world import EVE, Place, World, at
from rootbound_service.store.engine import make_engine
from rootbound_service.worker.schedule import JOBS

EVENING = time(20, 0)
"""Of the day before, by UTC: the night of that day is over, nothing is due."""
SOON_S = 0.3
"""How often the one that waits asks who leads. [s]"""
LANES = len({job.lane for job in JOBS})
"""In each a tick may have asked for the lead just before its process was stopped."""
CUT = """SELECT pg_terminate_backend(pid) FROM pg_locks
WHERE locktype = 'advisory' AND granted AND classid = 7266825
AND database = (SELECT oid FROM pg_database WHERE datname = current_database())"""


@dataclass(slots=True)
class Pair:
    """Two workers; the first leads when the night begins."""

    places: tuple[Place, Place]
    first: Running
    second: Running
    killed: bool = False

    def set(self, moment: datetime) -> None:
        """Set both clocks."""
        for one in self.places:
            one.set(moment)

    def rest(self) -> None:
        """Wait until whoever leads has seen to all that is due, letters too."""
        place = self.places[0]
        until(lambda: {seen(place).get(f"job {one}") for one in ("digest", "send")} == {place.now})
        until(lambda: not open_letters(place, place.now))
        pause(1.5)  # longer than a round of either
        until(lambda: not open_letters(place, place.now))

    def take_lead(self) -> None:
        """Take its lead from who has it, without a word to it: as a broken connection does."""
        url = self.places[0].url
        if url.startswith("sqlite"):
            Path(f"{make_url(url).database}.lead").unlink()
            return
        engine = make_engine(url)
        with engine.begin() as conn:
            assert conn.scalars(text(CUT)).all() == [True]
        engine.dispose()

    def kill(self) -> None:
        """Kill the first."""
        self.killed = self.first.kill()

    def taken_over(self) -> bool:
        """Whether the second leads."""
        return "worker_started" in self.second.text

    def wrong(self) -> list[str]:
        """What must not be after the second took over."""
        first, second = self.first.text, self.second.text
        lives = not self.killed
        faults: list[str] = []
        if not self.second.alive:
            faults.append(f"the other worker ended: {second[-600:]}")
        if "worker_takes_over" not in second:
            faults.append("the other worker did not say that it takes over")
        if lives and not self.first.alive:
            faults.append(f"the worker that lost its lead ended: {first[-600:]}")
        if lives and "worker_lost_lead" not in first:
            faults.append("the worker that lost its lead did not say so")
        since = min(said_at(second, TICK), default=float("inf"))
        for what, spared in ((BEGUN, 0), (TICK, LANES)):
            late = sum(one > since for one in said_at(first, what))
            faults += [f"{late} x {what} without the lead"] if late > spared else []
        return faults


@contextmanager
def a_pair(world: World, ask_s: float, *, one_folder: bool = False) -> Iterator[Pair]:
    """Start two workers on the eve, each with a data folder of its own or both with one.

    Parameters
    ----------
    world
        Where they live.
    ask_s
        How often the first asks whether it leads still. [s]
    one_folder
        Whether they share the data folder.
    """
    with world.place() as place, world.place() as other:
        other.url = place.url
        if one_folder:
            other = place  # noqa: PLW2901  its own copy is not wanted
        for one in (place, other):
            one.set(at(EVE, EVENING))
        first = place.start("worker", DRILL_EVERY_S="1", DRILL_ASK_S=str(ask_s))
        until(lambda: "worker_started" in first.text)
        second = other.start("worker", DRILL_EVERY_S="1", DRILL_ASK_S=str(SOON_S))
        until(lambda: "worker_waits" in second.text)
        pair = Pair((place, other), first, second)
        try:
            pair.rest()
            yield pair
        finally:
            for one in (first, second):
                one.wake()
                one.kill()
