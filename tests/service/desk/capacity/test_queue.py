"""The simulator's stations against the formulas of textbooks.

Kleinrock, Queueing Systems I (1975): M/M/1 (3.2), Pollaczek-Khinchine for M/D/1 (5.6), M/M/m by
Erlang's C (3.5). Little (1961), Operations Research 9: L = lambda W. Gaver (1962), J. Royal
Statistical Society B 24: work that starts anew after each loss.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from rootbound_service.desk.capacity.queue import Events, Station

MANY = 25_000


def fed(rate: float, servers: int, lasting: Callable, seed: int = 4, many: int = MANY) -> Station:
    """A station after so many arrivals by chance."""
    rng = np.random.default_rng(seed)
    events = Events()
    station = Station(events, servers, lambda: lasting(rng))
    for moment in np.cumsum(rng.exponential(1 / rate, many)):
        events.at(float(moment), lambda: station.arrive(lambda: None))
    events.run()
    return station


def exponential(mean: float) -> Callable:
    return lambda rng: float(rng.exponential(mean))


@pytest.mark.parametrize("load", [0.3, 0.5, 0.65])
def test_one_server_with_chance_in_both_keeps_people_as_long_as_kleinrock_says(load):
    seen = fed(load, 1, exponential(1.0)).watched

    assert seen.stay_s / seen.done == pytest.approx(1 / (1 - load), rel=0.07)
    assert seen.inside_s / seen.last == pytest.approx(load / (1 - load), rel=0.07)


def test_one_server_of_even_pace_halves_the_wait_of_one_by_chance():
    load = 0.6
    seen = fed(load, 1, lambda _: 1.0).watched

    assert seen.wait_s / seen.done == pytest.approx(load / (2 * (1 - load)), rel=0.06)


def test_three_servers_wait_as_erlang_says():
    servers, offered = 3, 2.0
    blocked = offered**servers / math.factorial(servers) * servers / (servers - offered)
    free = sum(offered**n / math.factorial(n) for n in range(servers))
    waits = blocked / (free + blocked) / (servers - offered)
    seen = fed(offered, servers, exponential(1.0)).watched

    assert waits == pytest.approx(0.4444, abs=1e-4)  # C(3, 2) = 4/9
    assert seen.wait_s / seen.done == pytest.approx(waits, rel=0.10)


@pytest.mark.parametrize("servers", [1, 4])
def test_littles_law_holds_for_every_run_not_only_on_average(servers):
    seen = fed(0.8 * servers, servers, exponential(1.0), many=2_000).watched
    mean_inside = seen.inside_s / seen.last
    rate, stay = seen.done / seen.last, seen.stay_s / seen.done

    assert mean_inside == pytest.approx(rate * stay, rel=1e-9)


def test_equal_work_of_one_moment_takes_its_rounds():
    events = Events()
    station = Station(events, 8, lambda: 3.0)
    for _ in range(50):
        station.arrive(lambda: None)
    events.run()

    assert station.watched.last == 3.0 * math.ceil(50 / 8)
    assert station.watched.busy_s == 150.0
    assert station.watched.longest == 42


def test_work_begun_anew_after_each_loss_takes_as_long_as_gaver_says():
    lost_per_s, takes, back = 0.5, 2.0, 0.3
    rng = np.random.default_rng(8)
    ends: list[float] = []
    for _ in range(4_000):
        events = Events()
        station = Station(
            events, 1, lambda: takes, lambda: float(rng.exponential(1 / lost_per_s)), back
        )
        station.arrive(lambda e=events: ends.append(e.now))
        events.run()
    expected = (1 / lost_per_s + back) * (math.exp(lost_per_s * takes) - 1)

    assert len(ends) == 4_000  # none is lost for good
    assert np.mean(ends) == pytest.approx(expected, rel=0.05)


def test_who_came_first_is_served_first_and_lost_work_goes_before_those_behind_it():
    events = Events()
    lives = iter([9.0, 0.5, 9.0, 9.0])
    station = Station(events, 1, lambda: 1.0, lambda: next(lives), 0.1)
    seen: list[str] = []
    for name in "abc":
        station.arrive(lambda name=name: seen.append(name))
    events.run()

    assert seen == ["a", "b", "c"]
    assert (station.watched.lost, station.watched.last) == (1, pytest.approx(3.6))


def test_the_same_moment_goes_in_the_order_planned():
    events = Events()
    seen: list[str] = []
    for name in "abc":
        events.at(1.0, lambda name=name: seen.append(name))
    events.at(0.5, lambda: events.at(0.0, lambda: seen.append("late goes at once")))
    events.run()

    assert seen == ["late goes at once", "a", "b", "c"]


def test_the_line_is_thinned_out_and_keeps_its_shape():
    events = Events()
    station = Station(events, 1, lambda: 1.0)
    for _ in range(5_000):
        station.arrive(lambda: None)
    events.run()
    line = station.watched.line
    moments = [moment for moment, _ in line]

    assert len(line) <= 1_001
    assert moments == sorted(moments)
    half = next(many for moment, many in line if moment >= 2_500)
    assert half == pytest.approx(2_500, abs=100)
