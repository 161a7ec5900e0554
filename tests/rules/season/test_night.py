"""A night over many fields tells of each what its own outlook tells by itself."""

from __future__ import annotations

from dataclasses import fields
from datetime import timedelta

import numpy as np
import pytest

from rootbound_rules.risk.assess import assess, readings_on
from rootbound_rules.risk.growing_free import grown_free
from rootbound_rules.risk.hold_need import members_needed
from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.risk.night_figures import asked_of, figures_of, may_have_grown_free
from rootbound_rules.risk.rain_to_hold import rain_to_hold
from rootbound_rules.risk.windows import CHANCES
from rootbound_rules.season.coming import ComingDays
from rootbound_rules.season.hold_search import FOUND, NEVER, NO_CLIMB
from rootbound_rules.season.layout import F
from rootbound_rules.season.night import AT_TOP, NOT_ASKED, NTOLD, Told, night
from rootbound_rules.season.night_sky import ripe_day
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.pack_many import Case, alike, pack_many, planned_of
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
        coming = foreseen(rng, known) if seed % 3 else None
        case = Case(season, cell(seed % 6), known, seed, tuple(years), coming)
        made.append((outlook_of(case), known + timedelta(days=1 + seed % 2), case))
    return made


def outlook_of(case):
    """One field's own outlook."""
    given = (case.season, case.demand, case.known_through, case.seed, list(case.years))
    return look_out(*given, coming=case.coming)


def foreseen(rng, known):
    """A forecast of 9 days in 5 traces."""
    rain = rng.gamma(0.3, 12.0, (5, 9))
    air = (
        rng.uniform(3.0, 7.0, (5, 9)),
        rng.uniform(10.0, 28.0, (5, 9)),
        rng.uniform(0, 0.1, (5, 9)),
    )
    return ComingDays(known + timedelta(days=1), rain, *air)


def played(some, members, before=0, *, search=True):
    """Run the night as its callers do: rows, amounts, kinds, in the order given."""
    rows, count, nights = load_table("hold"), len(some), NIGHTS if search else 0
    names = ("most_mm", "first_mm", "narrow.share", "narrow.mm")
    limits = np.array([*(rows.number(name) for name in names), 0.0])
    told, found = np.empty((count, NTOLD)), np.empty(count, np.int8)
    hold = np.empty((count, nights, 3))
    planned = [planned_of(case, {}) for _, _, case in some]
    for group in groups_of(planned, [today for _, today, _ in some]):
        mine = [some[i] for i in group]
        table = np.stack(
            [
                members_needed(held_on(outlook, today + timedelta(days=n)), members)
                for outlook, today, _ in mine
                for n in range(nights + 1)
            ]
        )
        gates = np.arange(len(table)).reshape(-1, nights + 1)
        given = pack_many([planned[i] for i in group], mine[0][1])
        parts = told[group], hold[group], found[group]
        lowest = np.full(len(mine), before)
        night(*given, asked_of(members), (lowest, gates, table, limits), *parts)
        told[group], hold[group], found[group] = parts
    return told, hold, found


def held_on(outlook, day):
    """The held twin on a night as an assessment reads it, without the rest that it works out."""
    known = max(outlook.day(outlook.known_through), 0)
    return readings_on(outlook, day, min(max(outlook.day(day) - 1, 0), known))[0]


def groups_of(planned, nights):
    """Fields that are alike and have the same night."""
    for group in alike(planned):
        for tonight in sorted({nights[i] for i in group}):
            yield [i for i in group if nights[i] == tonight]


@pytest.fixture(scope="module", params=[18, 32, 45])
def both(request):
    """Outlooks and the night over all of them; 18 and 45 members leave blocks half full."""
    some = cases(request.param)
    return some, played(some, request.param)


def test_chances_and_rungs_are_those_of_each_fields_own_outlook(both):
    some, (told, _, _) = both
    for (outlook, today, _), row in zip(some, told, strict=True):
        own = assess(outlook, today)
        assert own.held == held_on(outlook, today)
        for twin, begin in ((own.held, 0), (own.free, 4)):
            shares = [getattr(twin, chance) for chance in CHANCES]
            assert row[begin : begin + 4] == pytest.approx(shares, abs=1e-6)
        assert row[Told.HELD_RUNG] == raw_rung(own.held)[0]
        assert row[Told.FREE_RUNG] == raw_rung(own.free)[0]


def test_rain_to_hold_is_that_of_each_fields_own_search(both):
    some, (told, hold, found) = both
    seen = set()
    for i, (outlook, today, _) in enumerate(some):
        alone = rain_to_hold(outlook, today, int(told[i, Told.HELD_RUNG]))
        seen.add(alone.kind)
        assert found[i] == KINDS[alone.kind], i
        for row, day in zip(hold[i], alone.days, strict=False):
            mine = [np.nan if mm is None else mm for mm in (day.low, day.mm, day.high)]
            # compiled apart, the two may round differently, and so stop within the search's width
            np.testing.assert_allclose(row, mine, rtol=WIDTH, atol=0.05, err_msg=str(i))
    assert seen == set(KINDS)


def test_figures_are_those_of_each_fields_own_assessment(both):
    some, (told, _, _) = both
    seen = set()
    for (outlook, today, _), row in zip(some, told, strict=True):
        alone = assess(outlook, today)
        figures = figures_of(row.tolist(), outlook.plan, outlook.day(today), alone.members)
        seen.add((alone.ahead.kind, alone.critical, alone.mature, alone.held.dry))
        for one in fields(figures):
            mine, own = getattr(figures, one.name), getattr(alone, one.name)
            if isinstance(own, float):
                assert mine == pytest.approx(own, abs=1e-4, rel=1e-6), one.name
            elif one.name == "ahead":
                assert mine.kind == own.kind
                assert same(mine.low, own.low)
                assert same(mine.high, own.high)
            else:
                assert mine == own, one.name
    assert len(seen) > 5


def same(one, other):
    """Both none, or nearly alike."""
    return one is other is None or one == pytest.approx(other, abs=0.02)


def test_roots_may_have_grown_free_where_the_fields_own_outlook_says_so(both):
    some, (told, _, _) = both
    answers = []
    for (outlook, today, _), row in zip(some, told, strict=True):
        answers.append(grown_free(outlook, today, 0, 0))
        assert may_have_grown_free(row.tolist(), outlook.plan) == answers[-1]
    assert not all(answers)
    assert any(answers) or some[0][0].run.members == 45  # whose members differ more


def test_without_nights_to_hold_the_figures_are_the_same_and_nothing_is_searched(both):
    some, (told, _, _) = both
    alone, hold, found = played(some, some[0][0].run.members, search=False)
    left_out = [Told.HELD_RUNG, Told.FREE_RUNG]
    assert np.array_equal(
        np.delete(alone, left_out, axis=1), np.delete(told, left_out, axis=1), equal_nan=True
    )
    assert hold.size == 0
    assert (found == NOT_ASKED).all()


def test_the_share_that_runs_short_is_counted_to_the_end_of_the_whole_season(both):
    some, (told, _, _) = both
    for (outlook, today, _), row in zip(some, told, strict=True):
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
    for (outlook, today, _), row in zip(some, told, strict=True):
        ahead = assess(outlook, today).ahead
        if ahead.kind != "days":
            continue
        compared += 1
        low, middle, high = row[Told.AHEAD_LOW : Told.AHEAD_HIGH + 1]
        assert (low, middle) == pytest.approx((ahead.low, ahead.median), abs=0.02)
        assert high == pytest.approx(np.inf if ahead.high is None else ahead.high, abs=0.02)
    assert compared


def test_a_field_held_on_a_higher_rung_is_asked_about_that_one(both):
    some = both[0][:30]
    members = some[0][0].run.members
    told, _, found = played(some, members, before=3)
    for i, (outlook, today, _) in enumerate(some):
        rung = max(3, int(told[i, Told.HELD_RUNG]))
        assert found[i] == KINDS[rain_to_hold(outlook, today, rung).kind]


def test_a_field_is_the_same_whatever_fields_stand_beside_it(both):
    some, (told, hold, found) = both
    few = [some[i] for i in (70, 3, 41)]
    again = played(few, some[0][0].run.members)
    for one, other in zip(again, (told, hold, found), strict=True):
        assert np.array_equal(one, other[[70, 3, 41]], equal_nan=True)


def test_no_day_after_every_members_black_layer_is_run():
    outlook, _, _ = cases(18)[0]
    run = outlook.run
    ripe = ripe_day(run.field[F.MATURITY], run.weather, run.plant_day, run.days)
    heat = outlook.gdd_f.min(axis=1)
    assert heat[ripe] >= outlook.plan.maturity - 0.01 > heat[ripe - 1] - 0.02
    never = np.float32(1e9)
    assert ripe_day(never, run.weather, run.plant_day, run.days) == run.days
