"""Looking at the fields: rung as number and word, nothing that is silently fine."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from rootbound_service.records import DigRecord, NoteRecord
from rootbound_service.store.fields import add_field
from rootbound_service.store.risk import save_notes, save_risk
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
        "Stress sets in about 9 days sooner than with free roots (4 to 15 in 8 of 10 outlook",
    ):
        assert part in flat
    assert "ada@quill.example" not in told
    assert max(len(line) for line in told.splitlines()) <= 80
    # 29 June to 9 July ample, then drawing down, tight on the 14th; a dot for no night.
    assert "  Jun  ............................00\n" in told
    assert "  Jul  00000000011112.................\n" in told


AHEAD = {
    "short": {"middle": "2026-07-20", "first": "2026-07-17", "last": None},
    "free_short": {"middle": "2026-07-29", "first": "2026-07-24", "last": "2026-08-09"},
    "chance_short": 0.9,
    "rungs": [0.0, 0.1, 0.2, 0.5, 0.2],
    "members": 30,
    "days_to_silk": 3,
    "critical": True,
    "weather": "gridMET",
    "forecast": {
        "title": "US National Weather Service", "issued": "2026-07-14", "through": "2026-07-20"
    },
    "reach_later": {"day": "2026-07-28", "range": [0.5, 0.62, 0.7]},
    "stress_by_stage": [["V12", 1.0], ["VT", 2.0]],
    "more_plants": {"kind": "more", "plants": 4, "low_rung": 1, "high_rung": 3},
}  # fmt: skip


def test_the_card_tells_what_comes_in_the_words_of_the_letters(run, night, a_risk) -> None:
    night(a_risk(detail={"ahead": AHEAD, "cause": "roots"}))

    flat = " ".join(run("show", 1, "--units", "metric").stdout.split())

    for part in (
        "stage V12, silk in about 3 days: the critical window around silking",
        "when Stress sets in about 20 Jul (17 Jul at the soonest, in some years not at all); with",
        "with free roots about 29 Jul.",
        "18 of 30 past summers brought stress within 7 days, 24 within 14 days.",
        "Within two weeks 7 in 10 outlook years go higher than tonight's rung.",
        "roots They reach 55% of the rooted soil today, 62% (50 to 70) by 28 Jul.",
        "more plants 4 more plants would settle which rung the dig means.",
        "is published. A published range of sensitivity to dry days, not a forecast of this",
        "weather gridMET, real through 12 July (2 days old); then the forecast of",
        "US National Weather Service up to 20 Jul.",
    ):
        assert part in flat, part


def test_what_is_old_is_no_news_of_the_days_to_come(run, night, a_risk, clock) -> None:
    night(a_risk(detail={"ahead": AHEAD}))
    clock.set(datetime(2026, 7, 23, 11, tzinfo=UTC))

    told = run("show", "1").stdout

    assert "sets in" not in told
    assert "Stress set in" not in told
    assert "rung        no answer" in told


@pytest.mark.parametrize(
    ("status", "reason", "told"),
    [
        ("finished", "harvested", "The field is harvested; the watch of this season is over."),
        ("finished", "black_layer", "Black layer is reached."),
        ("unknown", "weather_patchy", "Too many days of its weather are missing."),
        ("unknown", "no_outlook", "There are too few past summers of weather here"),
    ],
)
def test_a_field_without_a_rung_says_why_in_its_own_words(
    run, night, a_risk, status, reason, told
) -> None:
    night(a_risk(status=status, reason=reason, rung=None, raw_rung=None, free_rung=None))

    assert f"why {told}" in " ".join(run("show", 1).stdout.split())


def test_what_people_saw_is_listed_with_who_when_and_the_number_to_take_it_back(
    run, enrolled, clock
) -> None:
    run("observe", 1, "--rain", "0.85 in", "--on", "2026-07-10", "--by", "Ada", "--note", "late")
    run("observe", 1, "--rolled", "--on", "2026-07-11", "--by", "Ben")
    run("observe", 1, "--withdraw", "2", "--by", "Ben")

    flat = " ".join(run("show", 1).stdout.split())

    at = f"{clock.now().astimezone(ZoneInfo('America/Chicago')):%Y-%m-%d %H:%M}"
    assert f"seen 1: 2026-07-10 rain 0.85 in, by Ada (recorded {at}): late" in flat
    assert f"2: 2026-07-11 leaves rolled at noon, by Ben (recorded {at}): withdrawn by Ben" in flat
    assert "rain 21.6 mm" in " ".join(run("show", 1, "--units", "metric").stdout.split())


def test_of_many_readings_the_last_are_shown_and_the_rest_counted(run, enrolled) -> None:
    for day in range(1, 15):
        run("observe", 1, "--rain", "1 in", "--on", f"2026-06-{day:02d}", "--by", "Ada")

    flat = " ".join(run("show", 1).stdout.split())

    assert "seen 2 earlier: rootbound observe 1 lists them all" in flat
    assert flat.count("rain 1.00 in") == 12
    assert "2026-06-02 rain" not in flat


def test_notes_are_listed_latest_first_under_the_numbers_that_explain_them(
    run, store, night, a_risk
) -> None:
    made = [
        NoteRecord(1, date(2026, 7, 1 + n), None if n == 0 else n - 1, n, "grown_free", {}, f"k{n}")
        for n in range(3)
    ]
    night(a_risk())
    with store.begin() as conn:
        save_notes(conn, made)

    told = run("show", 1).stdout
    flat = " ".join(told.split())

    assert "Notes (rootbound explain 3 computes one again) 3 2026-07-03 from 1 drawing" in flat
    assert "1 2026-07-01 from none to 0 ample: grown free" in flat
    assert max(len(line) for line in told.splitlines()) <= 80


def test_a_dig_says_who_dug_where_that_is_known(run, store, north) -> None:
    card = DigRecord(date(2026, 6, 10), 2, plants=6, by="Ben Marsh")
    with store.begin() as conn:
        add_field(conn, replace(north, digs=(card,)))

    assert "wall 2 smeared, 6 plants, by Ben Marsh" in " ".join(run("show", 1).stdout.split())


def test_a_field_nobody_knows_is_refused_with_the_nearest(run, enrolled) -> None:
    result = run("show", "North Fourty")

    assert result.exit_code == 1
    assert result.stderr == (
        "rootbound: field: no field is called North Fourty; did you mean North Forty?\n"
    )
