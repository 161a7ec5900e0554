"""The numbers behind a picture are those of its series, in the reader's unit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import rootbound_service.web
from rootbound_service.notes.units import water
from rootbound_service.web.draw.hover import hover_data
from service.web.draw.scene import picture

STATIC = Path(rootbound_service.web.__file__).parent / "static"


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_day_from_first_to_last_has_a_line_with_its_numbers(units):
    one = picture()
    lines = hover_data(one, units)
    series = one.series
    assert len(lines) == len(series.dates) + len(series.ahead)
    for i in range(len(series.dates)):
        assert f"rain {water(float(series.rain_mm[i]), units)}" in lines[i]
        assert f"held roots {water(float(series.held_water_mm[i]), units)}" in lines[i]
        assert f"free roots {water(float(series.free_water_mm[i]), units)}" in lines[i]
    for i in range(len(series.ahead)):
        low, high = (water(float(a[i]), units) for a in (series.held_low_mm, series.held_high_mm))
        assert f"outlook: held roots {low} to {high}" in lines[len(series.dates) + i]


def test_a_day_names_the_stage_the_crop_was_in():
    lines = hover_data(picture(), "us")
    assert [line.split(",")[0] for line in (lines[8], lines[9], lines[35])] == [
        "May 12",
        "May 13 VE",
        "Jun 8 V6",
    ]


def test_what_is_not_known_is_said_so():
    one = picture()
    rain = one.series.rain_mm.copy()
    rain[3] = np.nan
    lines = hover_data(picture(series=replace(one.series, rain_mm=rain)), "us")
    assert "rain not known" in lines[3]


def test_a_field_that_nobody_dug_says_nothing_of_held_roots():
    assert not [line for line in hover_data(picture(rated=False), "us") if "held" in line]


def test_the_script_is_small_and_writes_no_markup():
    script = (STATIC / "hover.js").read_text(encoding="utf-8")
    assert len(script) < 5000
    for forbidden in ("innerHTML", "eval(", 'setAttribute("style"', "document.write", "http"):
        assert forbidden not in script
