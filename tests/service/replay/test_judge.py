"""What was said of a season is held against what came, by hand-made seasons."""

from __future__ import annotations

from datetime import date

from rootbound_service.replay.followed import followed, stress_within
from rootbound_service.replay.judge import judge
from rootbound_service.replay.views import add_up, told, views
from service.replay.rig import came, from_july, played

JULY = [date(2004, 7, day) for day in range(1, 32)]
SHORT = came({JULY[9]: 1.5, JULY[10]: 1.0}, weighted=9.0)
"""Runs short on 11 July."""


def a_season(*rungs, held=SHORT, **others):
    return played(2004, from_july(2004, *rungs), held, **others)


def test_the_lead_runs_from_the_first_night_on_a_rung_to_the_onset():
    found = judge(a_season(0, 1, 1, 2, 0, 1, 2), "held")

    assert found.first == (JULY[1], JULY[3], None, None)
    assert found.onset == JULY[10]
    assert found.lead == (9, 7, None, None)
    assert found.ran_short
    assert found.reached(2)
    assert not found.reached(3)


def test_a_rung_that_is_jumped_over_counts_as_reached():
    assert judge(a_season(0, 0, 3), "held").first == (JULY[2], JULY[2], JULY[2], None)


def test_a_word_after_the_onset_has_a_lead_below_zero():
    rungs = [0] * 12 + [1]

    assert judge(a_season(*rungs), "held").lead[0] == -2


def test_rises_notes_and_nights_at_short_are_counted():
    found = judge(a_season(1, 2, 1, 3, 3, 4, 0), "held")

    assert (found.rises, found.notes, found.short_nights, found.worst) == (4, 4, 3, 4)
    assert (found.stress, found.weighted) == (2.5, 9.0)


def test_each_twin_is_judged_by_its_own_rungs_and_its_own_stress():
    found = judge(a_season(1, 2, 3), "free")

    assert found.first == (None,) * 4
    assert found.onset is None
    assert found.worst == 0


def test_a_season_without_a_night_reached_nothing():
    found = judge(a_season(), "held")

    assert (found.worst, found.rises, found.first) == (0, 0, (None,) * 4)


def test_views_are_free_roots_once_and_each_finding():
    seasons = [a_season(1, wall_class=3), a_season(0, wall_class=2)]

    found = views(seasons)

    assert [(view.twin, view.wall_class) for view in found] == [
        ("free", None),
        ("held", 2),
        ("held", 3),
    ]
    assert [view.roots for view in told(found)] == ["wall class 2", "wall class 3"]


def test_where_nobody_dug_people_are_told_of_free_roots():
    (view,) = told(views([a_season(1, wall_class=None)]))

    assert (view.twin, view.roots) == ("free", "free roots")


def of_years(*seasons):
    """One view of held roots over some seasons: rungs and what came."""
    made = [
        played(2001 + k, from_july(2001 + k, *rungs), held)
        for k, (rungs, held) in enumerate(seasons)
    ]
    return views(made)[1]


def short_in(year):
    """Runs short on 11 July of a year."""
    return came({date(year, 7, 10): 1.5, date(year, 7, 11): 1.0})


def test_seasons_add_up_to_warned_in_vain_and_unwarned():
    late = [0] * 12 + [2]
    sums = add_up(
        of_years(
            ([0, 1], short_in(2001)),
            ([0, 0, 0, 2], short_in(2002)),
            (late, short_in(2003)),
            ([0], short_in(2004)),
            ([1], came({})),
            ([0], came({})),
        )
    )

    assert (sums.seasons, sums.short) == (6, 4)
    assert sums.leads == (9, 7)
    assert (sums.usual_lead, sums.least_lead) == (8, 7)
    assert sums.unwarned == (2003, 2004)
    assert sums.in_vain == (2005,)
    assert sums.notes == 4 / 6


def test_stress_ahead_is_that_of_the_nights_own_day_and_those_after():
    what = came({JULY[0]: 1.0, JULY[1]: 2.0, JULY[2]: 4.0})

    assert stress_within(what, JULY[0], 1) == 1.0
    assert stress_within(what, JULY[1], 2) == 6.0
    assert stress_within(what, JULY[3], 9) == 0.0


def test_a_rung_is_followed_where_stress_passes_the_mark_within_three_weeks():
    first = date(2004, 7, 1)
    what = came({date(2004, 7, 21): 1.5, date(2004, 7, 22): 1.0})
    season = played(2004, {first: 0, JULY[1]: 2, JULY[2]: 2, JULY[3]: 0}, what)

    by_rung = {one.rung: one for one in followed([(season, "held")])}

    # from 1 July on 21 days end with the 21st: 1.5; from 2 July on with the 22nd: 2.5
    assert (by_rung[0].nights, by_rung[0].nights_followed) == (2, 1)
    assert (by_rung[2].nights, by_rung[2].nights_followed) == (2, 2)
    assert (by_rung[1].rises, by_rung[1].rises_followed) == (1, 1)
    assert (by_rung[2].rises, by_rung[2].rises_followed) == (1, 1)
    assert (by_rung[3].rises, by_rung[3].seasons) == (0, 0)
    assert by_rung[2].seasons == 1


def test_exactly_the_mark_is_not_past_it():
    season = played(2004, {JULY[0]: 1}, came({JULY[0]: 2.0}))

    assert followed([(season, "held")])[1].nights_followed == 0
