"""``rootbound observe`` and the signed dig: recorded, listed, taken back, imported."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from rootbound_service.store.fields import find_field

RAIN = ("observe", "north forty", "--rain", "0.8 in", "--on", "2026-07-10", "--by", "Ada")


@pytest.fixture
def observed(store, enrolled):
    """Tell what stands for the usual field."""

    def now():
        with store.connect() as conn:
            return find_field(conn, "1").observations

    return now


def test_a_gauge_reading_is_recorded_with_its_person_and_time(run, clock, observed) -> None:
    result = run(*RAIN)
    (stored,) = observed()

    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == (
        "Recorded for North Forty, 2026-07-10: rain 0.80 in, by Ada (id 1). "
        "It counts from the next night on.\n"
    )
    assert (stored.kind, stored.day, stored.by) == ("rain", date(2026, 7, 10), "Ada")
    assert stored.value == pytest.approx(20.32)
    assert stored.recorded_at == clock.now()


def test_the_same_command_twice_records_once(run, clock, observed) -> None:
    run(*RAIN)
    clock.set(clock.now() + timedelta(hours=1))
    result = run(*RAIN)

    assert result.stdout.startswith("Already recorded for North Forty, 2026-07-10: rain 0.80 in")
    assert len(observed()) == 1


def test_without_a_day_it_is_today_at_the_field(run, observed) -> None:
    result = run("observe", 1, "--not-rolled", "--irrigated", "1 in", "--by", "Ada")

    assert [(one.kind, one.day, one.value) for one in observed()] == [
        ("irrigation", date(2026, 7, 14), pytest.approx(25.4)),
        ("rolled", date(2026, 7, 14), 0.0),
    ]
    assert "leaves not rolled at noon, by Ada" in result.stdout


def test_a_gauge_read_in_the_morning_counts_for_the_day_before(run, observed) -> None:
    run(*RAIN, "--morning")

    assert [one.day for one in observed()] == [date(2026, 7, 9)]


def test_a_slip_is_taken_back_said_anew_and_stays_to_be_seen(run, clock, observed) -> None:
    run(*RAIN)
    clock.set(clock.now() + timedelta(hours=1))
    back = run("observe", 1, "--withdraw", "1", "--by", "Ben")
    gone = observed()
    anew = run(*RAIN)
    listed = run("observe", 1)

    assert back.stdout == (
        "Withdrew from North Forty, 2026-07-10: rain 0.80 in, by Ada. It stays in the list.\n"
    )
    assert gone == ()
    assert anew.stdout.startswith("Recorded for North Forty")
    assert [one.id for one in observed()] == [3]
    flat = " ".join(listed.stdout.split())
    assert "withdrawn by" in flat
    assert listed.stdout.count("rain 0.80 in") == 2


def test_taking_back_twice_is_told_and_harmless(run, observed) -> None:
    run(*RAIN)
    run("observe", 1, "--withdraw", "1", "--by", "Ben")
    result = run("observe", 1, "--withdraw", "1", "--by", "Ben")

    assert (result.exit_code, observed()) == (0, ())
    assert result.stdout == "Observation 1 of North Forty had been withdrawn already.\n"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--rain", "20", "--by", "Ada"), "--rain: 20 is above what it can be; rain of a day is"),
        (("--rain", "1 in"), "--by: is missing; say who saw or did it"),
        (("--irrigated", "-1", "--by", "Ada"), "--irrigated: -1 is negative"),
        (("--rolled", "--on", "2027-01-01", "--by", "Ada"), "--on: 2027-01-01 is in the future"),
        (("--harvested", "--by", "Ada"), "--on: 2026-07-14 is 71 days after planting"),
        (("--by", "Ada"), "--rain: nothing is given that was seen or done"),
        (("--withdraw", "1", "--by", "Ada"), "withdraw: this field's season has no observation 1"),
        (("--withdraw", "one", "--by", "Ada"), '--withdraw: "one" is not a number; give the id'),
        (("--withdraw", "1"), "--by: is missing; say who"),
        (("--withdraw", "1", "--rain", "1 in", "--by", "A"), "--withdraw: stands alone; withdraw"),
    ],
)
def test_what_is_wrong_is_named_by_its_flag_and_nothing_is_stored(
    run, observed, words, told
) -> None:
    result = run("observe", 1, *words)

    assert result.exit_code == 1
    assert f"rootbound: {told}" in result.stderr
    assert observed() == ()


def test_an_empty_list_says_what_may_be_recorded_and_how_to_go_and_look(run, enrolled) -> None:
    result = run("observe", enrolled.id)

    assert result.exit_code == 0
    assert "Nothing is recorded for North Forty this season." in result.stdout
    assert "rootbound observe \"North Forty\" --rain '0.8 in' --on YYYY-MM-DD --by Ada" in (
        result.stdout
    )
    assert "re-entry times on pesticide labels" in result.stdout


def test_the_list_has_ids_people_times_of_the_field_and_the_care_to_take(run, observed) -> None:
    run(*RAIN, "--note", "front gauge")
    result = run("observe", 1)
    flat = " ".join(result.stdout.split())

    assert len(observed()) == 1
    for part in ("1", "2026-07-10", "rain 0.80 in", "Ada", "2026-07-14 06:00", "front gauge"):
        assert part in flat
    assert "mind heat" in flat


def test_a_table_of_observations_is_imported(run, observed, tmp_path: Path) -> None:
    path = tmp_path / "seen.csv"
    path.write_text(
        "field,date,by,rain,rolled\nNorth Forty,2026-07-10,Ada,0.8 in,no\n", encoding="utf-8"
    )
    result = run("import", "--observations", path)

    assert (result.exit_code, result.stdout) == (0, "Recorded 2 observations of 1 row.\n")
    assert len(observed()) == 2


def test_a_bad_cell_of_a_table_stores_nothing_unless_the_good_are_wanted(
    run, observed, tmp_path: Path
) -> None:
    path = tmp_path / "seen.csv"
    path.write_text(
        "field,date,by,rain\n1,2026-07-10,Ada,0.8 in\n1,2026-07-11,Ada,80 in\n", encoding="utf-8"
    )
    refused = run("import", path, "--observations")
    none = observed()
    partly = run("import", path, "--observations", "--keep-good")

    assert (refused.exit_code, none) == (1, ())
    assert "line 3, rain" in refused.stderr
    assert "2 rows, 1 problem: nothing was stored; --keep-good" in refused.stdout
    assert partly.exit_code == 3
    assert len(observed()) == 1


def test_a_dig_card_is_signed_and_dated(run, clock, store, enrolled) -> None:
    card = ("--date", "2026-06-20", "--wall-class", "1", "--by", "Ben Marsh")
    result = run("dig", enrolled.id, *card)
    with store.connect() as conn:
        first, second = find_field(conn, "1").digs

    assert result.exit_code == 0
    assert (first.by, first.recorded_at) == ("", None)
    assert (second.by, second.recorded_at) == ("Ben Marsh", clock.now())
