"""One moment of the drills that kill processes; ``python -m drills`` has all of them."""

from __future__ import annotations

from drills.kills import sender, worker
from drills.world import a_world

FEW = 3
"""Past years: the fewer, the sooner the base is there."""


def test_a_worker_and_a_sender_that_are_killed_lose_nothing(tmp_path):
    with a_world(tmp_path, years=FEW) as world:
        tallies = [worker(world, 1), sender(world, 1)]

    assert [one.wrong for one in tallies] == [[], []]
    assert [one.healed for one in tallies] == [1, 1]
