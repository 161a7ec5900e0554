"""The order to dig: wet at planting and dry since first, and never a rating."""

from __future__ import annotations

from dataclasses import fields, replace

from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.risk.dig_list import DigReason, FirstDig, Undug, order_digs, reasons_of
from rootbound_rules.risk.dig_window import DigWindow
from rootbound_rules.risk.spring import Spring

OPEN = DigWindow("open", 5, 3.0)
CALM = Spring(
    planted_share=0.6, rain_before_mm=0.0, rain_planting_mm=0.0, since_soaking=2, days_planted=20,
    longest_dry=5, top_dry=0.4, clay_pct=20.0, texture="loam", irrigated=False,
)  # fmt: skip
WORST = replace(CALM, planted_share=0.98, rain_before_mm=22.0, longest_dry=16, top_dry=0.9)

share = st.floats(0.0, 1.0)
springs = st.builds(
    Spring,
    planted_share=st.floats(0.2, 1.0),
    rain_before_mm=st.floats(0.0, 90.0),
    rain_planting_mm=st.floats(0.0, 60.0),
    since_soaking=st.none() | st.integers(0, 60),
    days_planted=st.integers(0, 60),
    longest_dry=st.integers(0, 60),
    top_dry=share,
    clay_pct=st.floats(2.0, 60.0),
    texture=st.just("loam"),
    irrigated=st.booleans(),
)
windows = st.builds(
    DigWindow,
    state=st.sampled_from(["ahead", "open", "late", "past", "none", "unknown"]),
    days=st.none() | st.integers(0, 40),
    collars=st.floats(0.0, 12.0),
)
lists = st.lists(st.tuples(windows, st.none() | springs), min_size=1, max_size=12).map(
    lambda pairs: [Undug(n, window, spring) for n, (window, spring) in enumerate(pairs)]
)


def place_of(field_id, listed):
    return next(one.place for one in order_digs(listed) if one.field_id == field_id)


def order(*springs, window=OPEN):
    listed = [Undug(n, window, spring) for n, spring in enumerate(springs)]
    return [one.field_id for one in order_digs(listed)]


def test_planted_wet_and_dry_since_comes_before_either_alone():
    wet_only = replace(CALM, planted_share=0.98, rain_before_mm=22.0)
    dry_only = replace(CALM, longest_dry=16, top_dry=0.9)

    assert order(CALM, dry_only, wet_only, WORST)[:2] == [3, 2]


def test_a_spell_that_rain_has_ended_still_counts():
    ended = replace(WORST, since_soaking=0)

    assert order(replace(WORST, longest_dry=4), ended) == [1, 0]


def test_of_two_alike_the_finer_soil_then_the_one_that_cannot_be_watered_comes_first():
    assert order(WORST, replace(WORST, clay_pct=34.0)) == [1, 0]
    assert order(replace(WORST, irrigated=True), WORST) == [1, 0]


def test_an_open_window_comes_first_and_of_two_alike_the_one_that_closes_sooner():
    states = ["past", "ahead", "open", "late"]
    listed = [Undug(n, DigWindow(state, 9, 3.0), WORST) for n, state in enumerate(states)]
    listed.append(Undug(4, DigWindow("open", 2, 5.0), WORST))

    assert [one.field_id for one in order_digs(listed)] == [4, 2, 3, 1, 0]


def test_the_unknown_comes_before_those_to_which_nothing_points():
    assert order(CALM, None, WORST) == [2, 1, 0]


def test_every_reason_is_named_with_its_number_over_the_mark():
    assert reasons_of(WORST) == (
        DigReason.PLANTED_WET, DigReason.RAIN_BEFORE, DigReason.DRY_SPELL, DigReason.TOP_DRY,
        DigReason.FINE_SOIL,
    )  # fmt: skip
    assert reasons_of(replace(CALM, clay_pct=8.0)) == ()


def test_nothing_in_an_entry_is_a_score_or_a_wall_class():
    names = {one.name for one in fields(FirstDig)}

    assert names == {"field_id", "place", "window", "spring", "reasons"}


@given(lists)
def test_every_field_has_one_place(listed):
    ordered = order_digs(listed)

    assert sorted(one.field_id for one in ordered) == [one.field_id for one in listed]
    assert [one.place for one in ordered] == list(range(1, len(listed) + 1))


@given(lists, st.randoms(use_true_random=False))
def test_the_order_they_are_given_in_does_not_matter(listed, chance):
    mixed = list(listed)
    chance.shuffle(mixed)

    assert order_digs(mixed) == order_digs(listed)


MORE = st.sampled_from(
    ["planted_share", "rain_before_mm", "rain_planting_mm", "longest_dry", "top_dry", "clay_pct"]
)
ADDED = {"planted_share": 0.3, "rain_before_mm": 30.0, "rain_planting_mm": 20.0, "longest_dry": 12,
         "top_dry": 0.5, "clay_pct": 25.0}  # fmt: skip


@settings(max_examples=300)
@given(lists, st.data(), MORE, share)
def test_wetter_planting_longer_dryness_or_finer_soil_never_moves_a_field_back(
    listed, data, name, step
):
    known = [one for one in listed if one.spring is not None]
    if not known:
        return
    one = data.draw(st.sampled_from(known))
    added = ADDED[name] * step
    added = int(added) if name == "longest_dry" else added
    harder = replace(one.spring, **{name: getattr(one.spring, name) + added})
    changed = [replace(one, spring=harder) if other is one else other for other in listed]

    assert place_of(one.field_id, changed) <= place_of(one.field_id, listed)
    assert set(reasons_of(one.spring)) <= set(reasons_of(harder))


@given(springs)
def test_no_reason_is_named_of_which_there_is_nothing(spring):
    none = replace(spring, rain_before_mm=0.0, rain_planting_mm=0.0, longest_dry=0)

    assert not {DigReason.RAIN_BEFORE, DigReason.DRY_SPELL} & set(reasons_of(none))
