"""How many more plants a dig needs: narrowing, boundaries, and the digs that cannot say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.crop.dig import crossed_share
from rootbound_rules.errors import RulesError
from rootbound_rules.risk.expected_rung import worst_rungs
from rootbound_rules.risk.more_plants import MorePlants, more_plants, share_range
from rootbound_rules.season.layout import Out
from rootbound_rules.season.members import sobol_points
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.values import Dig
from rootbound_rules.tables import load_table
from rules.season import plausible

PLANTED, DUG = date(2020, 5, 1), date(2020, 6, 9)
BEGIN, END = date(2009, 1, 1), date(2020, 7, 31)
MOST = int(load_table("dig_list").number("more_plants.most"))
counts = st.tuples(st.integers(1, 30), st.integers(0, 200), st.integers(0, 200)).filter(
    lambda made: made[1] + made[2] > 0
)


@pytest.fixture(scope="module")
def cell():
    return sky(1, 0.3)


def sky(seed, wet_share):
    days = (END - BEGIN).days + 1
    return plausible.demand(plausible.weather(np.random.default_rng(seed), BEGIN, days, wet_share))


def season(crossing, held, plants=5, wall=1):
    dig = Dig(DUG, wall, plants, crossing, held)
    return replace(plausible.plain_field(digs=(dig,)), planted=PLANTED)


def look(cell, field, today):
    outlook = look_out(field, cell, today - timedelta(days=1), 7)
    return outlook, more_plants(outlook, field, today)


@given(counts)
def test_every_further_plant_narrows_the_range(made):
    dig = Dig(DUG, 1, *made)
    widths = [high - low for low, high in (share_range(dig, more) for more in range(MOST + 1))]

    assert all(later <= earlier + 1e-12 for earlier, later in pairwise(widths))
    assert widths[-1] < widths[0]


@given(counts)
def test_without_more_plants_the_range_is_the_digs_own(made):
    plants, crossing, held = made
    expected = [crossed_share(crossing, held, quantile) for quantile in (0.1, 0.9)]

    assert share_range(Dig(DUG, 1, plants, crossing, held)) == pytest.approx(expected)


def test_doubling_the_plants_is_doubling_the_roots():
    assert share_range(Dig(DUG, 1, 6, 8, 12), 6) == pytest.approx(
        share_range(Dig(DUG, 1, 12, 16, 24))
    )


def test_a_dig_whose_ends_give_one_rung_needs_no_more(cell):
    """Early June of a moist spring: nothing climbs, whatever the share."""
    _, told = look(cell, season(8, 12), date(2020, 6, 12))

    assert (told.kind, told.plants) == ("enough", 0)
    assert told.low_rung == told.high_rung


def test_at_the_edge_of_a_rung_it_names_the_fewest_that_settle_it():
    """As many more plants of the same kind, put on the card, must be enough; one less not."""
    found, cell = 0, sky(2, 0.25)
    for day, (crossing, held) in product(range(12, 44, 4), ((2, 18), (8, 12), (15, 5))):
        today = date(2020, 5, 31) + timedelta(days=day)
        outlook, told = look(cell, season(crossing, held, wall=3), today)
        if told.kind != "more":
            continue
        found += 1
        assert told.low_rung > told.high_rung  # fewer across is never the lower rung
        assert 1 <= told.plants <= MOST
        for plants, settled in ((told.plants, True), (told.plants - 1, False)):
            ends = share_range(Dig(DUG, 3, 5, crossing, held), plants)
            rungs = [worst_rungs(replayed(outlook, share), today)[0] for share in ends]
            assert (rungs[0] == rungs[1]) is settled, (crossing, held, day, plants)
    assert found >= 3


def replayed(outlook, share):
    """The outlook computed anew with one share in every member's dig."""
    counts = np.full_like(outlook.run.counts, share)
    run = replace(outlook.run, counts=counts)
    cube = run.play()
    return replace(outlook, run=run, held_stress=cube[:, Out.HELD_STRESS])


def test_a_share_far_from_any_edge_on_the_same_night_needs_none(cell):
    today = date(2020, 6, 25)
    kinds = {
        (crossing, held): look(cell, season(crossing, held, plants=20), today)[1].kind
        for crossing, held in ((0, 400), (400, 0))
    }

    assert set(kinds.values()) == {"enough"}


@pytest.mark.parametrize(
    "dig",
    [Dig(DUG, 2), Dig(DUG, 2, 5), Dig(DUG, 2, 5, 0, 0), Dig(DUG, 2, 0, 8, 12)],
    ids=["nothing counted", "plants only", "no roots", "plants not known"],
)
def test_a_dig_without_counts_asks_for_them(cell, dig):
    field = replace(plausible.plain_field(digs=(dig,)), planted=PLANTED)

    assert look(cell, field, date(2020, 6, 25))[1] == MorePlants("counts_wanted")


def test_the_newest_dig_counts(cell):
    older = Dig(DUG - timedelta(days=9), 2, 5, 8, 12)
    field = replace(plausible.plain_field(digs=(Dig(DUG, 2), older)), planted=PLANTED)

    assert look(cell, field, date(2020, 6, 25))[1].kind == "counts_wanted"


def test_an_older_dig_keeps_its_own_range(cell):
    """Only the newest is set to its ends: with the same newest one the answer is the same."""
    newest = Dig(DUG, 1, 5, 8, 12)
    two = replace(
        plausible.plain_field(digs=(newest, Dig(DUG - timedelta(days=12), 1, 5, 1, 19))),
        planted=PLANTED,
    )
    today = date(2020, 6, 25)
    outlook, told = look(cell, two, today)

    assert told.low_rung is not None
    assert told.low_rung >= worst_rungs(outlook, today)[1]


def test_a_field_nobody_dug_is_refused(cell):
    field = replace(plausible.plain_field(), planted=PLANTED)
    outlook = look_out(field, cell, date(2020, 6, 24), 7)

    with pytest.raises(RulesError, match="dig first"):
        more_plants(outlook, field, date(2020, 6, 25))


@pytest.mark.parametrize(("end", "position"), [(0, 0.1), (1, 0.9)])
def test_replaying_an_end_is_looking_out_with_every_member_there(cell, end, position):
    field, known = season(8, 12), date(2020, 6, 24)
    outlook = look_out(field, cell, known, 7)
    points = sobol_points(len(outlook.years), 7).copy()
    points[:, 6] = position
    anew = look_out(field, cell, known, 7, points=points)
    again = replayed(outlook, share_range(field.digs[0])[end])

    assert np.array_equal(again.held_stress, anew.held_stress)
    assert not np.array_equal(again.held_stress, outlook.held_stress)


def test_the_outlook_it_reads_is_left_as_it_was(cell):
    outlook = look_out(season(8, 12), cell, date(2020, 6, 24), 7)
    before, stress = outlook.run.counts.copy(), outlook.held_stress.copy()
    more_plants(outlook, season(8, 12), date(2020, 6, 25))

    assert np.array_equal(outlook.run.counts, before)
    assert np.array_equal(outlook.held_stress, stress)
