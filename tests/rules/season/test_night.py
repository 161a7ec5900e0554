"""A night over many fields tells of each what its own outlook tells by itself."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from rootbound_rules.risk.assess import assess
from rootbound_rules.risk.hold_need import members_needed
from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.risk.rain_to_hold import rain_to_hold
from rootbound_rules.risk.windows import CHANCES, windows
from rootbound_rules.season.hold_search import FOUND, NEVER, NO_CLIMB
from rootbound_rules.season.night import AT_TOP, NTOLD, Told, night, ripe_day
from rootbound_rules.season.outlook import look_out
from rootbound_rules.tables import load_table
from rules.risk.hold_cases import cell
from rules.season import plausible

NIGHTS, FIELDS = 7, 90
WIDTH = 0.02
"""Twice the share that the search calls narrow enough."""
KINDS = {"none_needed": NO_CLIMB, "rain": FOUND, "none_would": NEVER, "at_top": AT_TOP}


def cases(members):
    """Outlooks of random fields with one dig and so many members, on random nights."""
    made = []
    for seed in range(FIELDS):
        rng = np.random.default_rng([91, seed])
        season = plausible.field(rng, digs=(plausible.dig(rng),))
        known = plausible.PLANTED + timedelta(days=int(rng.integers(25, 150)))
        years = (list(range(2020, 2002, -1)) * 3)[:members]
        made.append((look_out(season, cell(seed % 6), known, seed, years), known))
    return [(outlook, known + timedelta(days=1)) for outlook, known in made]


def arrays(some):
    """The outlooks' own arrays side by side, each field with a cell of its own."""
    runs = [outlook.run for outlook, _ in some]
    needs = [
        members_needed(assess(outlook, today + timedelta(days=n)).held, outlook.run.members)
        for outlook, today in some
        for n in range(NIGHTS + 1)
    ]
    return (
        *(np.stack([getattr(r, name) for r in runs]) for name in ("field", "params", "digs")),
        np.stack([r.counts for r in runs]), np.arange(len(runs)),
        np.stack([r.weather for r in runs]), np.stack([r.irrigation for r in runs]),
        np.array([r.plant_day for r in runs]), np.array([r.held for r in runs]),
        np.array([outlook.day(today) for outlook, today in some]), np.zeros(len(runs), np.int64),
        np.arange(len(needs)).reshape(-1, NIGHTS + 1), np.stack(needs),
    )  # fmt: skip


def played(given, members):
    """Run the night: rows, amounts, kinds."""
    rows, count = load_table("hold"), len(given[0])
    names = ("most_mm", "first_mm", "narrow.share", "narrow.mm")
    limits = np.array([*(rows.number(name) for name in names), 0.0])
    told, found = np.empty((count, NTOLD), np.float32), np.empty(count, np.int8)
    hold = np.empty((count, NIGHTS, 3))
    night(*given, *windows(), 2.0, members, limits, told, hold, found)
    return told, hold, found


@pytest.fixture(scope="module", params=[18, 32, 45])
def both(request):
    """Outlooks and the night over all of them; 18 and 45 members leave blocks half full."""
    some = cases(request.param)
    return some, played(arrays(some), request.param)


def test_chances_and_rungs_are_those_of_each_fields_own_outlook(both):
    some, (told, _, _) = both
    for (outlook, today), row in zip(some, told, strict=True):
        for twin, begin in ((assess(outlook, today).held, 0), (assess(outlook, today).free, 4)):
            shares = [getattr(twin, chance) for chance in CHANCES]
            assert row[begin : begin + 4] == pytest.approx(shares, abs=1e-6)
        assert row[Told.HELD_RUNG] == raw_rung(assess(outlook, today).held)[0]
        assert row[Told.FREE_RUNG] == raw_rung(assess(outlook, today).free)[0]


def test_rain_to_hold_is_that_of_each_fields_own_search(both):
    some, (told, hold, found) = both
    seen = set()
    for i, (outlook, today) in enumerate(some):
        alone = rain_to_hold(outlook, today, int(told[i, Told.HELD_RUNG]))
        seen.add(alone.kind)
        assert found[i] == KINDS[alone.kind], i
        for row, day in zip(hold[i], alone.days, strict=False):
            mine = [np.nan if mm is None else mm for mm in (day.low, day.mm, day.high)]
            # compiled apart, the two may round differently, and so stop within the search's width
            np.testing.assert_allclose(row, mine, rtol=WIDTH, atol=0.05, err_msg=str(i))
    assert seen == set(KINDS)


def test_water_and_reach_are_the_medians_of_yesterday(both):
    some, (told, _, _) = both
    for (outlook, today), row in zip(some, told, strict=True):
        by_itself = assess(outlook, today)
        mine = (by_itself.water_in_reach_mm, by_itself.free_water_mm, by_itself.reach)
        assert row[Told.HELD_WATER : Told.REACH + 1] == pytest.approx(mine, abs=1e-4)


def test_the_share_that_runs_short_is_counted_to_the_end_of_the_whole_season(both):
    some, (told, _, _) = both
    for (outlook, today), row in zip(some, told, strict=True):
        soon = outlook.day(today) + 14
        for stress, all_of_it, by_soon in (
            (outlook.held_stress, Told.HELD_ONSET, Told.HELD_ONSET_SOON),
            (outlook.free_stress, Told.FREE_ONSET, Told.FREE_ONSET_SOON),
        ):
            total = np.cumsum(stress, axis=0, dtype=np.float64) > 2.0
            assert row[all_of_it] == pytest.approx(total[-1].mean())
            assert row[by_soon] == pytest.approx(total[min(soon, len(total)) - 1].mean())


def test_days_ahead_are_those_of_each_fields_own_outlook(both):
    compared = 0
    some, (told, _, _) = both
    for (outlook, today), row in zip(some, told, strict=True):
        ahead = assess(outlook, today).ahead
        if ahead.kind != "days":
            continue
        compared += 1
        low, middle, high = row[Told.AHEAD_LOW : Told.AHEAD_HIGH + 1]
        assert (low, middle) == pytest.approx((ahead.low, ahead.median), abs=0.02)
        assert high == pytest.approx(np.inf if ahead.high is None else ahead.high, abs=0.02)
    assert compared


def test_a_field_held_on_a_higher_rung_is_asked_about_that_one(both):
    some, _ = both
    members = some[0][0].run.members
    given = list(arrays(some))
    given[10] = np.full(len(some), 3)
    told, _, found = played(given, members)
    for i, (outlook, today) in enumerate(some[:30]):
        rung = max(3, int(told[i, Told.HELD_RUNG]))
        assert found[i] == KINDS[rain_to_hold(outlook, today, rung).kind]


def test_a_field_is_the_same_whatever_fields_stand_beside_it(both):
    some, (told, hold, found) = both
    few = [some[i] for i in (70, 3, 41)]
    again = played(arrays(few), some[0][0].run.members)
    for one, other in zip(again, (told, hold, found), strict=True):
        assert np.array_equal(one, other[[70, 3, 41]], equal_nan=True)


def test_no_day_after_every_members_black_layer_is_run():
    outlook, _ = cases(18)[0]
    run = outlook.run
    ripe = ripe_day(run.field, run.weather, run.plant_day, run.days)
    heat = outlook.gdd_f.min(axis=1)
    assert heat[ripe] >= outlook.plan.maturity - 0.01 > heat[ripe - 1] - 0.02
    never = run.field * np.float32(1e6)
    assert ripe_day(never, run.weather, run.plant_day, run.days) == run.days
