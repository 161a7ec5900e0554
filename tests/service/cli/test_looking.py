"""Looking at the fields: rung as number and word, nothing that is silently fine."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from rootbound_service.store.fields import add_field
from rootbound_service.store.risk import save_risk
from rootbound_service.store.runs import finish_run, start_run


@pytest.fixture
def night(store):
    """Store what nights found, and that the last of them was run."""

    def save(*rows, ran: date | None = None) -> None:
        at = datetime(2026, 7, 14, 10, tzinfo=UTC)
        ran = ran or max(row.night for row in rows)
        with store.begin() as conn:
            save_risk(conn, rows)
            start_run(conn, ran, at)
            finish_run(conn, ran, at, len(rows), 0, "whole")

    return save


def line_of(result, name: str) -> str:
    (line,) = [line for line in result.stdout.splitlines() if name in line]
    return " ".join(line.split())


def test_no_fields_says_how_to_enrol_the_first(run) -> None:
    result = run("fields")

    assert result.exit_code == 0
    assert result.stdout.startswith("No field is enrolled yet.")
    assert "rootbound enroll --file FIELD.toml" in result.stdout


def test_a_field_before_its_first_night_is_not_called_fine(run, enrolled) -> None:
    result = run("fields")

    assert line_of(result, "North Forty").startswith("1 North Forty Ada Quill no night yet –")
    assert result.stdout.endswith("No night has been run yet: rootbound nightly runs one.\n")


@pytest.mark.parametrize(
    ("units", "told"),
    [
        ([], "2 tight 9 (4–15) 1.2 in V12 Jun 10 Jul 12"),
        (["--units", "metric"], "2 tight 9 (4–15) 30 mm V12 10 Jun 12 Jul"),
    ],
)
def test_a_watched_field_has_its_figures_on_one_line_of_80(run, night, a_risk, units, told) -> None:
    night(a_risk())

    result = run("fields", *units)

    assert line_of(result, "North Forty") == f"1 North Forty Ada Quill {told}"
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert result.stdout.endswith("Figures of the night of 2026-07-14.\n")


def test_number_and_word_of_a_rung_stay_together_at_80_columns(run, night, a_risk) -> None:
    night(a_risk(rung=1, raw_rung=1))

    told = run("fields").stdout

    assert "1 drawing down" in told
    for head in ("days", "ahead", "water", "in reach", "last", "weather", "through"):
        assert head in told


def test_colour_is_never_needed(run, night, a_risk) -> None:
    night(a_risk())

    assert "\x1b" not in run("fields").stdout + run("show", "1").stdout


def test_a_field_without_dig_is_unrated(run, store, night, north, a_risk) -> None:
    with store.begin() as conn:
        west = add_field(conn, replace(north, name="West"))
    night(a_risk(season_id=west.season_id, status="unrated", rung=0))

    assert "unrated" in line_of(run("fields"), "West")
    assert "no dig" in line_of(run("fields"), "West")
    assert "unrated until its roots are dug" in run("show", "West").stdout


def test_old_weather_makes_a_field_unknown_whatever_was_computed(run, night, a_risk, clock) -> None:
    night(a_risk(rung=0, raw_rung=0))
    clock.set(datetime(2026, 7, 23, 11, tzinfo=UTC))

    result = run("fields")

    assert "no answer" in line_of(result, "North Forty")
    assert "ample" not in result.stdout
    assert result.stdout.endswith(
        "No night has been run since 2026-07-14: the figures are of that night.\n"
    )
    assert "weather is too old" in run("show", "1").stdout


def test_words_in_square_brackets_are_printed_as_they_are(run, store, north) -> None:
    with store.begin() as conn:
        add_field(conn, replace(north, name="[red]West[/]"))

    assert "[red]West[/]" in run("fields", "--units", "us").stdout.replace("\n", "")


def test_a_field_is_shown_in_full(run, night, a_risk) -> None:
    night(
        a_risk(night=date(2026, 6, 29), rung=0, raw_rung=0, status="watched"),
        a_risk(night=date(2026, 7, 10), rung=1, raw_rung=1),
        a_risk(),
    )

    told = run("show", "North Forty").stdout
    flat = " ".join(told.split())

    for part in (
        "North Forty (field 1)",
        "place lat 42.03000, lon -93.62000, 310 m, America/Chicago",
        "maize planted 2026-05-04, rows 76.2 cm, seed 5 cm deep, black layer at 2700 gdd_f",
        "silt loam, clay 22 % (entered by hand)",
        "grower Ada Quill, adviser Ben Marsh",
        "2026-06-10 wall 2 smeared, 6 plants, 9 roots crossing, 21 held: wheel side",
        "rung 2 tight",
        (
            "why The coming week may well use up the water in reach. The roots are the reason: "
            "free roots would be at 0 ample."
        ),
        "1.2 in of water in reach; free roots would have 2.4 in",
        "About 9 days sooner than free roots would (4 to 15 in 8 of 10 outlook years).",
    ):
        assert part in flat
    assert "ada@quill.example" not in told
    assert max(len(line) for line in told.splitlines()) <= 80
    # 29 June to 9 July ample, then drawing down, tight on the 14th; a dot for no night.
    assert "  Jun  ............................00\n" in told
    assert "  Jul  00000000011112.................\n" in told


def test_a_field_nobody_knows_is_refused_with_the_nearest(run, enrolled) -> None:
    result = run("show", "North Fourty")

    assert result.exit_code == 1
    assert result.stderr == (
        "rootbound: field: no field is called North Fourty; did you mean North Forty?\n"
    )
