"""The written order of the sources: which rule counts where, and every way to write it wrong."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.errors import RefusedInput
from rootbound_service.public.order import Order, Region, Rule, read_order
from rootbound_service.soil.build import SOIL
from rootbound_service.weather.build import DAYS, FORECAST

KNOWN = {"days": DAYS, "forecast": FORECAST, "soil": SOIL}


@pytest.fixture
def problems(tmp_path):
    """Write a file, have it refused, and give the problems without the file's name."""

    def go(text):
        path = tmp_path / "sources.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        with pytest.raises(RefusedInput) as caught:
            read_order(path, KNOWN)
        return [line.removeprefix(str(path)).strip() for line in str(caught.value).splitlines()]

    return go


def read(tmp_path, text):
    path = tmp_path / "sources.toml"
    path.write_text(text)
    return read_order(path, KNOWN)


@pytest.mark.parametrize(
    ("need", "lat", "lon", "sources"),
    [
        ("days", 42.03, -93.62, ("gridmet", "nasa_power")),
        ("days", 24.5, -125.0, ("gridmet", "nasa_power")),  # the corner belongs to the box
        ("days", 49.51, -97.1, ("nasa_power",)),
        ("days", -34.6, -58.4, ("nasa_power",)),
        ("forecast", 42.03, -93.62, ("nws",)),
        ("forecast", 48.1, 11.6, ()),
        ("soil", 42.03, -93.62, ("survey", "soilgrids")),
        ("soil", 48.1, 11.6, ("soilgrids",)),
    ],
)
def test_the_order_that_comes_with_the_program(need, lat, lon, sources):
    assert read_order(None, KNOWN).sources(need, lat, lon) == sources


def test_the_first_rule_whose_region_holds_the_place_counts_and_no_later_one():
    order = Order(
        {"box": Region(40, 50, -100, -90)},
        (
            Rule("forecast", "world", ("nws",)),
            Rule("days", "box", ("gridmet",)),
            Rule("days", "world", ("nasa_power",)),
            Rule("days", "box", ("nclimgrid",)),
        ),
    )

    assert order.sources("days", 45, -95) == ("gridmet",)
    assert order.sources("days", 45, -85) == ("nasa_power",)
    assert order.named("days") == ("gridmet", "nasa_power", "nclimgrid")


def test_a_rule_without_sources_asks_for_nothing_there(tmp_path):
    order = read(
        tmp_path,
        "[region.box]\nsouth = 40\nnorth = 50\nwest = -100\neast = -90\n"
        '[[order]]\nneed = "days"\nregion = "box"\nsources = []\n'
        '[[order]]\nneed = "days"\nregion = "world"\nsources = ["nasa_power"]\n',
    )

    assert order.sources("days", 45, -95) == ()


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_a_region_across_the_date_line_holds_what_its_two_halves_hold(lat, lon):
    across = Region(-20, 20, 170, -170)
    halves = Region(-20, 20, 170, 180), Region(-20, 20, -180, -170)

    assert across.holds(lat, lon) == any(half.holds(lat, lon) for half in halves)


@pytest.mark.parametrize("lon", [170.0, 180.0, -180.0, -170.0, 175.5])
def test_a_region_across_the_date_line_holds_both_its_edges(lon):
    assert Region(-20, 20, 170, -170).holds(0, lon)
    assert not Region(-20, 20, 170, -170).holds(0, -lon / 2)


BOX = "[region.box]\nsouth = 40\nnorth = 50\nwest = -100\neast = -90\n"
DAYS_THERE_ARE = "one of gridmet, nasa_power, nclimgrid"
RULE = '[[order]]\nneed = "days"\nregion = "world"\nsources = ["nasa_power"]\n'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (BOX.replace("40", "-91"), ["[region.box] south: -91 is wrong; give ±90"]),
        (BOX.replace("-100", "200"), ["[region.box] west: 200 is wrong; give ±180"]),
        (BOX.replace("-90", '"-90"'), ["[region.box] east: '-90' is wrong; give ±180"]),
        (BOX.replace("50", "nan"), ["[region.box] north: nan is wrong; give ±90"]),
        (BOX.replace("50", "true"), ["[region.box] north: True is wrong; give ±90"]),
        (BOX.replace("north = 50\n", ""), ["[region.box] north: None is wrong; give ±90"]),
        (BOX.replace("50", "30"), ["[region.box]: south lies north of north; turn them"]),
        ("region = 3\n", ["region: it is no table; write [region.NAME]"]),
        (
            RULE.replace('"days"', '"day"'),
            ["[[order]] 1 need: 'day' is wrong; one of days, forecast, soil"],
        ),
        (
            BOX + RULE.replace('"world"', '"iowa"'),
            ["[[order]] 1 region: 'iowa' is no region of this file; one of box, world"],
        ),
        (
            RULE.replace('["nasa_power"]', '"nasa_power"'),
            ["[[order]] 1 sources: 'nasa_power' is no list of names; give one"],
        ),
        (
            RULE + RULE.replace('"nasa_power"', '"nasa_power", "nws", 3'),
            ["[[order]] 2 sources: ['nasa_power', 'nws', 3] is no list of names; give one"],
        ),
        (
            RULE.replace('"nasa_power"', '"nws"'),
            [f"[[order]] 1 sources: there is no 'nws' for days; {DAYS_THERE_ARE}"],
        ),
        ("order = 3\n", ["order: it is no list; write [[order]]"]),
        ("order = [3]\n", [
            "[[order]] 1 need: None is wrong; one of days, forecast, soil",
            "[[order]] 1 region: None is no region of this file; one of world",
            "[[order]] 1 sources: None is no list of names; give one",
        ]),
        ("[[grid]]\nfile = 'x'\n", ["[[grid]] 1 preset: None is no path; name the preset's file"]),
        ("grid = ['x']\n", ["[[grid]] 1 preset: None is no path; name the preset's file"]),
        (RULE + "\n[sources]\n", ["sources: there is no such part; remove it"]),
    ],
)  # fmt: skip
def test_what_is_wrong_in_the_file_is_told_with_its_place_and_what_is_wanted(problems, text, told):
    assert problems(text) == told


def test_all_problems_are_told_at_once(problems):
    text = BOX.replace("40", "99") + RULE.replace("days", "hours") + "[[grid]]\n" + "[other]\n"

    assert [line.split(":")[0] for line in problems(text)] == [
        "[region.box] south",
        "[[grid]] 1 preset",
        "[[order]] 1 need",
        "other",
    ]


def test_a_region_or_a_need_that_is_no_text_is_refused_and_not_looked_up(problems):
    text = '[[order]]\nneed = ["days"]\nregion = ["world"]\nsources = []\n'

    assert [line.split(":")[0] for line in problems(text)] == [
        "[[order]] 1 need",
        "[[order]] 1 region",
    ]


def test_a_file_that_is_no_toml_no_text_or_not_there_is_refused(problems, tmp_path):
    (no_toml,) = problems("[[order]\n")
    (no_text,) = problems(b"\xff\xfe")
    with pytest.raises(RefusedInput) as caught:
        read_order(tmp_path / "none.toml", KNOWN)

    assert no_toml.startswith(": it is no TOML (")
    assert no_text.startswith(": cannot be read (")
    assert "none.toml: cannot be read (" in str(caught.value)


def test_further_grids_are_found_beside_the_file_and_may_be_named(tmp_path):
    text = '[[grid]]\npreset = "ours.toml"\n[[grid]]\npreset = "/etc/theirs.toml"\n'
    order = read(tmp_path, text + RULE.replace('"nasa_power"', '"ours", "nasa_power"'))

    assert [str(path) for path in order.presets] == [
        str(tmp_path / "ours.toml"),
        "/etc/theirs.toml",
    ]
    assert order.named("days") == ("ours", "nasa_power")


def test_grids_of_ones_own_excuse_no_unknown_name_of_another_need(tmp_path):
    text = '[[grid]]\npreset = "ours.toml"\n' + RULE.replace("days", "forecast")
    with pytest.raises(RefusedInput) as caught:
        read(tmp_path, text)

    assert "there is no 'nasa_power' for forecast" in str(caught.value)


def test_an_empty_file_asks_nobody(tmp_path):
    order = read(tmp_path, "")

    assert order == Order({}, ())
    assert order.sources("days", 42.0, -93.6) == ()
