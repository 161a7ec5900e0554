"""The commands one after the other on one data folder, the weather from this machine."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta

import pytest
from typer.testing import CliRunner

from loopback.power_server import PowerServer
from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import SetClock
from rootbound_service.nights import compute as room
from service.nights.rig import DRY, POWER_ONLY, YEAR
from tables import put_tables

FIELD = """
[field]
name = "{name}"
lat = 41.62
lon = -94.92
elevation_m = 340
row_spacing_cm = 76.2
[season]
crop = "maize"
planted = {year}-04-28
black_layer_gdd_f = 2650
seed_depth_cm = 5
[soil]
texture = "loam"
organic_matter_pct = 3.0
[people]
grower = "Maren Holt <maren@alder.example>"
units = "metric"
[[dig]]
date = {year}-05-28
wall_class = 2
plants = 5
crossing = 20
held = 30
"""
GAUGED, PLAIN = "Long Acre", "Stone Gate"
"""Two fields alike in one cell: in one of them stands a gauge."""
BEFORE, AFTER, LATER = (date(YEAR, 6, 28), date(YEAR, 7, 2), date(YEAR, 7, 14))
CUT = date(YEAR, 7, 20)
"""For silage."""
SEEN = f"""field,date,by,rain,rolled,note
{GAUGED},{YEAR}-06-26,Maren Holt,60 mm,,a storm on this field alone
{GAUGED},{YEAR}-06-27,Maren Holt,20 mm,,
"""


class Hands:
    """Somebody at the keyboard, on a day."""

    def __init__(self, clock, sky):
        self.clock, self.sky = clock, sky

    def type(self, *words, code=0):
        result = self.raw(*words)
        assert result.exit_code == code, (result.output, result.exception)
        return " ".join(result.stdout.split())

    def raw(self, *words):
        said = [str(word) for word in words]
        return CliRunner().invoke(app, said, obj=Session(clock=self.clock))

    def night(self, day):
        self.sky.today = day
        self.clock.set(datetime.combine(day, time(9, 30), UTC))
        return self.type("nightly", "--date", day)


@pytest.fixture
def hands(tmp_path, monkeypatch):
    clock = SetClock(datetime.combine(BEFORE, time(9, 30), UTC))
    put_tables(tmp_path / "data")
    with PowerServer(DRY, BEFORE) as sky:
        for name, value in {
            "DATA_DIR": tmp_path / "data",
            "SOURCES_FILE": POWER_ONLY,
            "NASA_POWER_URL": sky.url,
            "HISTORY_YEARS": "3",
        }.items():
            monkeypatch.setenv(f"ROOTBOUND_{name}", str(value))
        monkeypatch.setenv("COLUMNS", "80")
        found = Hands(clock, sky)
        for name in (GAUGED, PLAIN):
            path = tmp_path / "field.toml"
            path.write_text(FIELD.format(name=name, year=YEAR), "utf-8")
            found.type("enroll", "--file", path)
        (tmp_path / "seen.csv").write_text(SEEN, "utf-8")
        found.night(BEFORE)
        yield found


def test_rain_of_a_gauge_takes_the_place_of_the_grids_the_next_night(hands, tmp_path):
    told = hands.type("import", "--observations", tmp_path / "seen.csv")
    night = hands.night(AFTER)
    gauged, plain = hands.type("show", GAUGED), hands.type("show", PLAIN)

    assert told == "Recorded 2 observations of 2 rows."
    assert "1 notes decided" in night
    assert "rung 1 drawing down" in plain
    assert "rung 0 ample" in gauged
    assert f"1: {YEAR}-06-26 rain 60.0 mm, by Maren Holt (recorded {BEFORE} 04:30)" in gauged
    assert ": a storm on this field alone" in gauged
    assert "Rain of 2 days is from the field's own gauge." in gauged
    assert "seen" not in plain
    assert "Notes" not in gauged


def test_a_note_is_listed_under_the_number_that_explains_it(hands, tmp_path):
    hands.type("import", "--observations", tmp_path / "seen.csv")  # the other field stays quiet
    hands.night(AFTER)
    shown = hands.type("show", PLAIN)
    explained = hands.type("explain", 1)

    told = f"Notes (rootbound explain 1 computes one again) 1 {AFTER} from none to 1 drawing down"
    assert told in shown
    assert f"Note 1: {PLAIN}, night of {AFTER}" in explained
    assert "Same to the digit" in explained


def test_rolled_leaves_move_belief_the_next_night_and_the_card_shows_how(hands, tmp_path):
    hands.night(LATER)
    before = hands.type("show", PLAIN)
    for back in (2, 4):
        day = LATER - timedelta(days=back)
        hands.type("observe", PLAIN, "--not-rolled", "--on", day, "--by", "Ines Varga")
    hands.night(LATER + timedelta(days=1))
    plain, other = hands.type("show", PLAIN), hands.type("show", GAUGED)

    assert "reports of leaves" not in before
    assert "2 reports of leaves weighed in" in plain
    assert f"leaves not rolled at noon, by Ines Varga (recorded {LATER} 04:30)" in plain
    assert "leaves not rolled" not in other
    picture = tmp_path / "belief.png"
    assert "Before and after" in hands.type("show", PLAIN, "--belief", picture)
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert "nothing to draw" in hands.type("show", GAUGED, "--belief", tmp_path / "none.svg")
    assert "name a .png or .svg" in hands.raw("show", PLAIN, "--belief", "belief.doc").output
    moved = re.search(r"equivalents was (\S+) .* by weather and dig alone, is (\S+) ", plain)
    assert moved is not None
    assert float(moved[2]) < float(moved[1])  # leaves that stay open speak for more water


def test_a_harvest_ends_the_season_the_next_night_and_costs_no_outlook(hands, monkeypatch):
    hands.night(CUT)
    stage = hands.type("show", PLAIN).split("stage ")[1].split(":")[0]
    hands.type("observe", PLAIN, "--harvested", "--on", CUT, "--by", "Maren Holt")
    computed = []
    real = room.look_out
    monkeypatch.setattr(room, "look_out", lambda *a, **k: computed.append(a) or real(*a, **k))
    night = hands.night(CUT + timedelta(days=1))
    plain = hands.type("show", PLAIN)

    assert "2 fields computed, 0 failed" in night
    assert len(computed) == 1  # the other field's
    assert "rung finished" in plain
    assert f"stage {stage}." in plain
    assert "why The field is harvested" in plain
    assert "water" not in plain.split("Rungs by night")[0].split("Figures of")[1]
    why = hands.type("explain", "--field", PLAIN, "--on", CUT + timedelta(days=1))
    assert "harvested" in why


def test_a_card_says_what_comes_in_the_words_of_the_letters_within_80_columns(hands):
    hands.night(AFTER)
    told = hands.raw("show", PLAIN).stdout
    flat = " ".join(told.split())

    assert max(len(line) for line in told.splitlines()) <= 80
    for words in (
        "when Stress sets in about ",
        "with free roots",
        "of 3 past summers brought stress within 7 days",
        "roots They reach ",
        " by 16 Jul.",
        "weather NASA POWER, real through",
    ):
        assert words in flat, words
    listed = hands.raw("fields").stdout
    assert max(len(line) for line in listed.splitlines()) <= 80
