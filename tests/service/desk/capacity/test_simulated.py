"""Simulated nights: the same by the seed, bounded by arithmetic, worse when more is lost."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from rootbound_service.desk.capacity.asked import Asked, Machines, Manners
from rootbound_service.desk.capacity.measured import Measured, shipped
from rootbound_service.desk.capacity.night import sized
from rootbound_service.desk.capacity.picture import draw_night
from rootbound_service.desk.capacity.played import Chance
from rootbound_service.desk.capacity.simulated import play
from rootbound_service.desk.capacity.values import night_values

MEASURED = shipped()
POLITE = Manners(1.0)
CALM = Chance(lost_per_hour=0.0, spread=0.0, failing=0.0)
FEW = Asked(50_000, POLITE, 1_000)


def heavy(chunk_s: float) -> Measured:
    """Chunks that take about so long each."""
    each = MEASURED.figures["chunk_overhead_s"]
    return Measured(MEASURED.figures | {"chunk_overhead_s": replace(each, value=chunk_s)})


def values(seed: int, **more):
    given = {"workers": 3, "nights": 2, "measured": MEASURED, "chance": Chance(drought=(2,))}
    return [night_values(one) for one in play(FEW, seed=seed, **given | more)]


def test_the_same_seed_is_the_same_night_and_another_is_another():
    assert values(5) == values(5)
    assert values(5) != values(6)


def test_a_night_does_not_depend_on_those_after_it():
    assert values(5, nights=1) == values(5, nights=2)[:1]


@pytest.mark.parametrize("workers", [1, 3, 7])
def test_without_chance_a_night_is_its_arithmetic(workers):
    measured = heavy(100.0)
    one = sized(FEW, measured)
    (night,) = play(FEW, workers, 1, 1, measured, CALM)
    chunk_s, row_s = one.compute_core_s / one.chunks, one.rows_s / one.chunks
    rounds = math.ceil(one.chunks / workers)
    in_last = one.chunks - (rounds - 1) * workers
    letters_s = night.letters * measured["letter_cpu_ms"] / 1e3

    assert night.pulled_s == pytest.approx(one.pull_s)
    assert night.stored_s == pytest.approx(one.pull_s + rounds * chunk_s + in_last * row_s)
    assert night.written_s == pytest.approx(night.stored_s + letters_s)
    assert night.narrowest == "pulls" if one.pull_s > rounds * chunk_s else "chunks"


def test_everything_that_was_to_be_done_is_done():
    for night in play(FEW, 3, 3, 9, heavy(60.0), Chance(lost_per_hour=30.0, drought=(2,))):
        assert all(one.done == one.arrived for one in night.stations.values())
        assert night.stations["chunks"].done == 10


def test_lost_workers_cost_time_and_no_chunk():
    whole, lossy = (
        play(FEW, 3, 1, 9, heavy(60.0), replace(CALM, lost_per_hour=lost))[0]
        for lost in (0.0, 60.0)
    )

    assert lossy.stations["chunks"].lost > 0
    assert lossy.stored_s > whole.stored_s
    assert lossy.stations["chunks"].done == whole.stations["chunks"].done


def test_nothing_is_sent_before_eight_and_never_faster_than_the_provider_takes():
    asked = replace(FEW, machines=Machines(mail_per_s=0.5, texts_per_s=0.1, senders=2))
    (night,) = play(asked, 3, 1, 2, MEASURED, Chance(drought=(1,)))
    eight = asked.habits.night_s

    assert night.sending_from_s >= eight
    assert night.stations["mail"].last - eight >= (night.letters - 2) / 0.5
    assert night.stations["texts"].last - eight == pytest.approx(night.texts / 0.1, rel=1e-6)
    assert night.narrowest == "letters and texts sent"


def test_what_goes_in_groups_takes_as_long_as_one_by_one():
    asked = Asked(4_000_000, POLITE, 9_000)
    (night,) = play(asked, 8, 1, 2, MEASURED, CALM)

    assert night.stations["pulls"].arrived < sum(
        p.requests for p in sized(asked, MEASURED).pulls.usual
    )
    assert night.pulled_s == pytest.approx(sized(asked, MEASURED).pull_s)
    assert night.longest("letters") == pytest.approx(night.letters, rel=0.01)


def test_more_rise_on_a_night_of_a_bad_spell():
    calm, bad = play(FEW, 3, 2, 3, MEASURED, Chance(drought=(2,)))

    assert bad.letters > 2 * calm.letters


def test_a_picture_of_a_night_has_a_strip_for_every_line_and_is_the_same_again(tmp_path):
    (night,) = play(FEW, 3, 1, 2, MEASURED, Chance())
    first, second = tmp_path / "one.svg", tmp_path / "two.svg"
    draw_night(night, first)
    draw_night(night, second)

    assert first.read_bytes() == second.read_bytes()
    assert first.read_text("utf-8").count('<g id="axes_') == 6
