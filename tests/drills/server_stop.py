"""PostgreSQL stopped in the middle of a night and started again: the worker itself goes on."""

from __future__ import annotations

import time
from random import Random

from drills.child import OVER
from drills.cluster import a_cluster
from drills.held import Tally, held_by
from drills.kills import quiet_run
from drills.moments import last_span
from drills.processes import pause, until
from drills.rest import LAST, morning, night_is_done, seen
from drills.world import World

AWAY_S = (0.1, 1.5)
"""How long the server is away. [s]"""


def server_stop(world: World, times: int, seed: int = 4) -> Tally:
    """Stop the server in the worker's night; the same worker, never started again, ends it."""
    tally, rng, begun = Tally("stop PostgreSQL"), Random(seed), time.monotonic()
    server = world.server
    try:
        with a_cluster() as cluster:
            world.server = cluster.url
            quiet, span = quiet_run(world)
            for number in range(times):
                moment = span.moment(rng, number)
                with world.place() as place:
                    worker = place.start("worker", DRILL_EVERY_S="1")
                    moment.wait(worker)
                    cluster.stop()
                    cut = OVER not in worker.text
                    pause(rng.uniform(*AWAY_S))
                    cluster.start()
                    until(lambda place=place: night_is_done(place) and LAST in seen(place))
                    alive = worker.alive
                    worker.stop()
                    span = last_span(worker.text, span)
                    morning(place)
                    tally.take(f"{number}, {moment}", held_by(place), quiet, hit=cut)
                    tally.hear(worker.text)
                    if not alive:
                        tally.wrong.append(f"{number}: the worker ended: {worker.text[-800:]}")
    finally:
        world.server = server
    tally.seconds = time.monotonic() - begun
    return tally
