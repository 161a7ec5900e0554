"""Presets are checked whole, and every problem is told by its place in the file."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.errors import RefusedInput
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.sources.cf_files import filled, periods
from rootbound_service.weather.sources.cf_preset import Files
from rootbound_service.weather.sources.cf_presets import (
    SHIPPED,
    moved,
    parse_preset,
    read_preset,
    shipped_preset,
)

GOOD = """
name = "mine"
title = "Mine"
earliest = 2000-01-01
[[files]]
where = "t-{year}.nc"
[habits]
lag = 2
recent = 10
settled = 60
[variables.tmax_c]
name = "tmax"
units = "degC"
"""


def problems(text):
    """What is said of a wrong preset, without the file's name."""
    with pytest.raises(RefusedInput) as caught:
        parse_preset(text, "p.toml", Path())
    said = [str(problem) for problem in caught.value.problems]
    assert all(line.startswith("p.toml") for line in said)
    return [line.removeprefix("p.toml ").removeprefix("p.toml: ") for line in said]


def test_a_good_preset_is_read_with_its_defaults():
    preset = parse_preset(GOOD, "p.toml", Path("/grids"))

    assert preset.quantities == ("tmax_c",)
    assert preset.files[0].status == "age"
    assert preset.axes.time == "*"
    assert preset.folder == Path("/grids")
    assert preset.earliest == date(2000, 1, 1)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_preset_is_good_and_is_listed(name):
    preset = shipped_preset(name)
    folder = Path(__file__).parents[4] / "service/rootbound_service/weather/sources/presets"

    assert preset.name == name
    assert {file.stem for file in folder.glob("*.toml")} == set(SHIPPED)


def test_the_shipped_grids_reach_as_far_as_their_services_say():
    # Coordinates as documented by NOAA, the Climate Hazards Center and gridMET.
    corners = {}
    for name in SHIPPED:
        grid = shipped_preset(name).grid
        north = grid.lat0 + (grid.rows - 1) * grid.lat_step
        corners[name] = (round(north, 4), round(grid.lon0 + (grid.columns - 1) * grid.lon_step, 4))

    assert corners["nclimgrid"] == corners["nclimgrid_by_variable"] == (49.3542, -67.0208)
    assert corners["chirps_v2"] == (49.975, 179.975)
    assert corners["gridmet_year"] == (25.0667, -67.0583)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"mine"', '"My grid"', "name: 'My grid' is wrong; string should match pattern"),
        ('title = "Mine"', "", "title: it is missing; field required"),
        ("2000-01-01", '"soon"', "earliest: 'soon' is wrong; "),
        ("lag = 2", "lag = -1", "habits.lag: -1 is wrong; input should be greater than or equal"),
        ("lag = 2", "lag = 11", "habits: must not fall; give lag <= recent <= settled"),
        ("tmax_c", "tmax", "variables.tmax: is none of ours; use one of tmax_c, tmin_c"),
        ('"degC"', '"furlong"', "variables.tmax_c.units: 'furlong' is not known; use one of degc"),
        ('"degC"', '"degC"\nheight_m = 10', "variables.tmax_c.height_m: only wind has a height"),
        ('"degC"', '"degC"\nscale = 2', "variables.tmax_c.scale: 2 is wrong; extra inputs"),
        ("t-{year}", "t-{yaer}", "files.0.where: {yaer} is not known; use year, month, day, file"),
        ("t-{year}", "t-{year", "files.0.where: its braces do not match; write such as {year}"),
        ("t-{year}", "t-{{year}}", "files.0.where: its braces do not match; write such as"),
        ("t-{year}", "t-{}", "files.0.where: {} is not known; use year, month"),
        ("t-{year}", "t-{year:x}", "files.0.where: a name in braces has a format; write such"),
        ("t-{year}", "t-{month}", "files.0.where: has no {year}; a month or day alone names"),
        ("t-{year}", "t-{year}{day}", "files.0.where: has {day} without {month}; give both"),
        ("t-{year}", "t-{file}", "variables.tmax_c.file: is missing; give what stands for"),
        ("t-{year}", "https://a.example/t", "files.0.where: an address has no {year}; give one"),
        ("t-{year}", "https://a.example/{year}", "files.0.where: needs a written grid; give"),
        ("[habits]", "[grid]\nlat0 = 1\n[habits]", "grid.lon0: it is missing; field required"),
        ("[habits]", "[axes]\ncalendar = 'lunar'\n[habits]", "axes.calendar: 'lunar' is wrong"),
        ("[[files]]", "[[files]", "it is no TOML"),
        ("title", 'folder = "/"\ntitle', "folder: there is no such part; remove it"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(old, new, said):
    found = problems(GOOD.replace(old, new))

    assert any(line.startswith(said) for line in found), found


def test_every_problem_is_told_and_not_only_the_first():
    text = GOOD.replace("t-{year}", "{moon}").replace('"degC"', '"furlong"').replace("= 60", "= 1")

    assert len(problems(text)) == 3


def test_variables_that_share_a_file_are_each_named():
    text = GOOD + '[variables.tmin_c]\nunits = "degC"\n'

    assert problems(text) == [
        "variables.tmin_c.name: is missing; several share a file, so name each"
    ]


def test_a_level_step_of_latitude_is_refused():
    grid = "[grid]\nlat0=1\nlon0=1\nlat_step=0\nlon_step=1\nrows=2\ncolumns=2\n[habits]"

    assert problems(GOOD.replace("[habits]", grid)) == [
        "grid.lat_step: is 0; give the step from row to row, negative southward"
    ]


def test_a_preset_that_is_not_there_is_told(tmp_path):
    with pytest.raises(RefusedInput, match=r"none\.toml: cannot be read \(FileNotFoundError\)"):
        read_preset(tmp_path / "none.toml")


def test_a_preset_may_be_moved_to_another_address():
    preset = moved(
        shipped_preset("nclimgrid"),
        "https://www.ncei.noaa.gov/data/nclimgrid-daily/access/grids",
        "http://127.0.0.1:8000/x",
    )

    assert (
        preset.files[0].where == "http://127.0.0.1:8000/x/{year}/ncdd-{year}{month}-grd-scaled.nc"
    )


WORDS = st.sampled_from(
    ["a", "{year}", "{month}", "{day}", "{file}", "{x}", "{", "}", "https://a/"]
)
LEAVES = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 5), st.text(max_size=5), st.floats(), st.just([])
)


@given(
    where=st.lists(WORDS, max_size=5).map("".join),
    changes=st.dictionaries(
        st.sampled_from(["name", "title", "earliest", "files", "axes", "grid", "habits", "nope"]),
        LEAVES,
        max_size=2,
    ),
    variables=st.dictionaries(
        st.sampled_from([*QUANTITY_NAMES, "other"]),
        st.dictionaries(st.sampled_from(["name", "units", "file", "height_m", "fill"]), LEAVES),
        max_size=3,
    ),
)
@settings(max_examples=300, deadline=None)
def test_any_preset_is_either_good_or_refused_in_words(where, changes, variables):
    document = {**tomllib.loads(GOOD), "files": [{"where": where}], "variables": variables}
    document.update(changes)
    refused, name = [], "none"
    try:
        name = filled(parse_document(document).files[0], date(2024, 2, 29), "t")
    except RefusedInput as error:
        refused = list(error.problems)

    assert (name == "none") == bool(refused)
    assert not set("{}") & set(name)
    assert all(problem.where and problem.what and problem.wanted for problem in refused)


def parse_document(document):
    """As from a file that says this; TOML has no null, so such a part is left out."""
    from rootbound_service.weather.sources import cf_presets

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cf_presets.tomllib, "loads", lambda text: document)
        return parse_preset("", "p.toml", Path())


@given(
    st.sampled_from([set(), {"year"}, {"year", "month"}, {"year", "month", "day"}]),
    st.dates(date(1981, 1, 1), date(2030, 1, 1)),
    st.integers(0, 800),
)
def test_periods_hold_each_day_once_and_one_file_each(parts, start, days):
    end = date.fromordinal(start.toordinal() + days)

    spans = list(periods(parts, start, end))

    counted = [day for a, b in spans for day in range(a.toordinal(), b.toordinal() + 1)]
    assert counted == list(range(start.toordinal(), end.toordinal() + 1))
    pattern = "".join(f"{{{part}}}" for part in sorted(parts)) or "x"
    for first, last in spans:
        one, other = (filled(Files(where=pattern), day, None) for day in (first, last))
        assert one == other
