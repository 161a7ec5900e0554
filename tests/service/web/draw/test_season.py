"""The season in one picture: well formed, within its frame, and true to the numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootbound_service.notes.facts import SeasonSeries
from rootbound_service.web.draw.frame import steps
from rootbound_service.web.draw.season import NARROW, WIDE, said, season_svg
from rootbound_service.web.draw.shapes import Dug, Picture, Seen
from service.web.draw.scene import NASTY, SVG, day, outside, picture, read

BOTH = pytest.mark.parametrize("width", [WIDE, NARROW])


@BOTH
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_picture_is_well_formed_and_nothing_leaves_it(width, units):
    root = read(season_svg(picture(), units, width))
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert outside(root) == []


@BOTH
def test_no_element_carries_a_style_for_the_page_forbids_it(width):
    root = read(season_svg(picture(), "us", width))
    assert not [one.tag for one in root.iter() if one.get("style") or one.tag == f"{SVG}style"]


def test_the_ids_of_the_two_pictures_of_a_page_differ():
    wide, narrow = (read(season_svg(picture(), "us", width)) for width in (WIDE, NARROW))
    ids = [one.get("id") for root in (wide, narrow) for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids)) == 4
    for root in (wide, narrow):
        own = {one.get("id") for one in root.iter() if one.get("id")}
        assert set(root.get("aria-labelledby").split()) == own


def test_what_somebody_typed_stays_text():
    svg = season_svg(picture(name=NASTY, seen=(Seen(day(40), "rain", NASTY),)), "us")
    assert "<script" not in svg
    titles = [one.text for one in read(svg).iter(f"{SVG}title")]
    assert f"The season of {NASTY}" in titles
    assert any(title.endswith(NASTY) for title in titles)


def test_water_lies_where_its_scale_says():
    series = _flat(held=20.0, free=40.0)
    root = read(season_svg(Picture("x", series), "metric"))
    held, free = (_line(root, name) for name in ("held", "free"))
    ticks = {one.text: float(one.get("y")) - 4 for one in root.iter(f"{SVG}text")}
    for name, line in (("20", held), ("40", free)):
        assert [y for _, y in line] == pytest.approx([ticks[name]] * 30, abs=0.11)


def test_inches_are_drawn_at_the_same_height_as_the_millimetres_of_their_scale():
    series = _flat(held=25.4, free=50.8)
    root = read(season_svg(Picture("x", series), "us"))
    ticks = {one.text: float(one.get("y")) - 4 for one in root.iter(f"{SVG}text")}
    assert _line(root, "held")[0][1] == pytest.approx(ticks["1"], abs=0.11)
    assert _line(root, "free")[0][1] == pytest.approx(ticks["2"], abs=0.11)


def test_the_names_of_the_lines_never_lie_on_each_other():
    root = read(season_svg(Picture("x", _flat(held=0.0, free=0.0)), "us"))
    ys = [float(one.get("y")) for one in root.iter(f"{SVG}text") if one.text in {"held", "free"}]
    assert len(ys) == 2
    assert abs(ys[0] - ys[1]) >= 12


def test_a_field_that_nobody_dug_has_no_line_of_held_roots():
    root = read(season_svg(picture(rated=False), "us"))
    assert not [one for one in root.iter() if one.get("class") in {"held", "name-held"}]
    assert _line(root, "free")


def test_every_rung_stands_in_the_strip_with_its_number():
    root = read(season_svg(picture(), "us"))
    steps_drawn = [one.get("class") for one in root.iter() if "step" in one.get("class", "")]
    assert steps_drawn == ["step r0", "step r1", "step r3"]
    numbers = [one.text for one in root.iter(f"{SVG}text") if "on-r" in one.get("class", "")]
    assert numbers == ["0", "1", "3"]


def test_notes_digs_and_what_was_seen_say_their_day_and_words():
    titles = " | ".join(one.text for one in read(season_svg(picture(), "us")).iter(f"{SVG}title"))
    for words in ("May 28: dug, wall 2 smeared", "rain 0.8 in", "leaves rolled", "Note of July 3"):
        assert words in titles


def test_a_gauge_read_every_day_neither_crowds_the_row_nor_loses_a_reading():
    seen = tuple(Seen(day(n), "rain", f"reading {n}.") for n in range(70))
    root = read(season_svg(picture(seen=seen, digs=(Dug(day(30), 3),)), "us", NARROW))
    xs = sorted(float(one.get("cx")) for one in root.iter() if one.get("class") == "sign")
    assert min(np.diff(xs)) >= 18
    told = " ".join(one.text for one in root.iter(f"{SVG}title"))
    assert all(f"reading {n}." in told for n in range(70))
    assert "d+" in [one.text for one in root.iter(f"{SVG}text")]


def test_stages_still_to_come_are_banded_and_those_past_the_picture_are_not():
    stages = (("R1", day(75)), ("R2", day(85)), ("R6", day(400)))
    root = read(season_svg(picture(stages=stages), "us"))
    assert len([one for one in root.iter() if "stage" in one.get("class", "")]) == 2


def test_the_description_says_the_numbers_in_the_readers_unit():
    series = picture().series
    for units, number in (("metric", "14 mm"), ("us", "0.6 in")):
        assert f"held roots have {number} in reach" in said(picture(), units)
    assert f"{round(float(np.nansum(series.rain_mm[-30:])))} mm" in said(picture(), "metric")


def test_unknown_days_leave_gaps_and_no_word_of_nan():
    series = picture().series
    held = series.held_water_mm.copy()
    held[10:20] = np.nan
    svg = season_svg(picture(series=replace(series, held_water_mm=held)), "us")
    assert "nan" not in svg
    assert outside(read(svg)) == []


@pytest.mark.parametrize("days", [1, 2, 7])
def test_a_season_of_a_few_days_is_drawn(days):
    one = Picture("x", _flat(held=10.0, free=10.0, days=days), rungs=((day(0), None),))
    assert outside(read(season_svg(one, "us"))) == []


@pytest.mark.parametrize("high", [0.0, 0.3, 1.0, 3.9, 4.0, 97.0, 1234.5])
def test_a_scale_ends_above_its_values_in_two_to_five_round_steps(high):
    step, end = steps(high)
    assert end >= high * (1 - 1e-9)
    assert 1 <= round(end / step) <= 5


def _flat(*, held: float, free: float, days: int = 30) -> SeasonSeries:
    return SeasonSeries(
        dates=tuple(day(n) for n in range(days)),
        rain_mm=np.zeros(days),
        held_water_mm=np.full(days, held),
        free_water_mm=np.full(days, free),
    )


def _line(root, name):
    line = next(one for one in root.iter() if one.get("class") == name)
    return [tuple(map(float, pair.split(","))) for pair in line.get("points").split()]
