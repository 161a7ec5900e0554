"""``rootbound replay``: from files to tables and a report, and what is refused in a sentence."""

from __future__ import annotations

import csv
from datetime import timedelta

import pytest
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from service.replay.rig import weather

FIELD = """
[field]
name = "Gravel Bend"
lat = 42.0
elevation_m = 300
[season]
crop = "maize"
planted = 2004-05-05
[soil]
texture = "sandy loam"
"""
DIG = """
[[dig]]
date = 2004-06-01
wall_class = 2
"""


@pytest.fixture
def desk(tmp_path):
    """A folder with a field and five years of weather, the last summer dry."""
    days = weather()
    (tmp_path / "field.toml").write_text(FIELD + DIG, encoding="utf-8")
    with (tmp_path / "w.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow(("date", "tmax_c", "tmin_c", "rain_mm"))
        out.writerows(
            (days.start + timedelta(days=k), *(round(float(one[k]), 2) for one in series))
            for series in [(days.tmax_c, days.tmin_c, days.rain_mm)]
            for k in range(len(days))
        )
    return tmp_path


@pytest.fixture
def replay(desk):
    def go(*args, field="field.toml"):
        names = field if isinstance(field, list) else [field]
        words = ["replay", *(str(desk / one) for one in names), "--weather", str(desk / "w.csv")]
        words += ["--out", str(desk / "out"), *map(str, args)]
        return CliRunner().invoke(app, words)

    return go


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_replay_writes_nights_seasons_and_a_report_and_says_what_came(replay, desk):
    done = replay("--years", "2003-2004")

    assert done.exit_code == 0, done.stderr
    assert done.stdout.startswith("Wall class 2: 2 seasons, 1 of which ran short")
    nights, found = rows(desk / "out" / "nights.csv"), rows(desk / "out" / "seasons.csv")
    assert {row["night"][:4] for row in nights} == {"2003", "2004"}
    assert [(row["year"], row["twin"]) for row in found] == [
        ("2003", "free"), ("2003", "held"), ("2004", "free"), ("2004", "held"),
    ]  # fmt: skip
    assert "Gravel Bend" in (desk / "out" / "report.html").read_text("utf-8")
    assert "━" not in done.stderr  # no bar where nobody looks


def test_classes_are_found_instead_of_the_fields_own(replay, desk):
    done = replay("--years", "2004", "--classes", "0,3")

    assert done.exit_code == 0, done.stderr
    found = rows(desk / "out" / "seasons.csv")
    assert [row["wall_class"] for row in found] == ["0", "0", "3", "3"]
    assert "Wall class 0: 1 season" in done.stdout
    assert "Wall class 3: 1 season" in done.stdout
    free, held = found[0], found[1]
    assert [free[name] for name in ("onset", "stress_days")] == [
        held[name] for name in ("onset", "stress_days")
    ]


def test_two_fields_of_a_place_are_played_beside_each_other(replay, desk):
    other = FIELD.replace("Gravel Bend", "Mill Race").replace("lat = 42.0", "lat = 44.0")
    (desk / "other.toml").write_text(other, encoding="utf-8")

    done = replay("--years", "2004", field=["field.toml", "other.toml"])

    assert done.exit_code == 0, done.stderr
    assert "Gravel Bend, wall class 2: 1 season" in done.stdout
    assert "Mill Race, free roots: 1 season" in done.stdout
    assert "Mill Race lies 2.0 degrees of latitude" in done.stderr
    assert {row["wall_class"] for row in rows(desk / "out" / "nights.csv")} == {"2", ""}


def test_forecasts_are_used_as_they_were_issued(replay, desk):
    lines = ["issued,date,tmax_c,tmin_c,rain_mm"]
    for k in range(20, 90):  # rain is foreseen every morning of the dry summer, and never comes
        day = weather().start.replace(year=2004, month=5, day=10) + timedelta(days=k)
        lines += [f"{day},{day + timedelta(days=one)},24,14,30" for one in range(7)]
    (desk / "f.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

    replay("--years", "2004")
    without = rows(desk / "out" / "nights.csv")
    done = replay("--years", "2004", "--forecasts", desk / "f.csv")

    assert done.exit_code == 0, done.stderr
    known = rows(desk / "out" / "nights.csv")
    july = [(a, b) for a, b in zip(without, known, strict=True) if a["night"][5:7] == "07"]
    assert sum(float(b["held_chance_7"]) < float(a["held_chance_7"]) for a, b in july) > 10
    assert all(float(b["held_chance_7"]) <= float(a["held_chance_7"]) for a, b in july)


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--years", "1999"], "--years: 1999: the weather does not hold the season"),
        (["--years", "soon"], '--years: "soon" is no year'),
        (["--classes", "5"], '--classes: "5" is no wall class'),
        (["--units", "feet"], '--units: "feet" is neither'),
        (["--yields", "{desk}/none.csv"], "none.csv: is not there"),
        (["--forecasts", "{desk}/none.csv"], "none.csv: is not there"),
    ],
)
def test_what_is_wrong_is_said_before_anything_is_played(replay, desk, args, said):
    done = replay(*(one.format(desk=desk) for one in args))

    assert done.exit_code == 1
    assert said in done.stderr
    assert not (desk / "out" / "nights.csv").exists()


def test_yields_of_too_few_years_are_refused(replay, desk):
    (desk / "y.csv").write_text("year,yield_bu_ac\n2002,150\n2003,160\n2004,90\n", "utf-8")

    done = replay("--yields", desk / "y.csv")

    assert done.exit_code == 1
    assert "y.csv: has the yields of 3 of the 4 years that are played" in done.stderr


def test_a_problem_is_named_with_its_file_and_line(replay, desk):
    text = (desk / "w.csv").read_text("utf-8").replace("2000-01-02,", "2000-01-09,")
    (desk / "w.csv").write_text(text, encoding="utf-8")

    done = replay()

    assert done.exit_code == 1
    assert "w.csv, line 3, date: 2000-01-09 stands where 2000-01-02 belongs" in done.stderr


def test_a_field_that_cannot_be_read_is_named(replay, desk):
    (desk / "field.toml").write_text(FIELD.replace("sandy loam", "gravel"), encoding="utf-8")

    done = replay()

    assert done.exit_code == 1
    assert "field.toml" in done.stderr
    assert "gravel" in done.stderr


def test_a_folder_that_cannot_be_made_is_refused_before_the_work(replay, desk):
    (desk / "out").write_text("a file stands in the way", encoding="utf-8")

    done = replay("--years", "2004")

    assert done.exit_code == 1
    assert "cannot be written" in done.stderr


def test_help_says_what_it_reads_and_writes():
    told = CliRunner().invoke(app, ["replay", "--help"]).stdout

    for words in ("nights.csv", "report.html", "yield_bu_ac", "issued"):
        assert words in told
