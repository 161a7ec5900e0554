"""What stands of a field's observations comes together day by day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.season.belief import Report
from rootbound_service.nights.observed import Observed, observed_of
from rootbound_service.records import ObservationRecord

DAY = date(2026, 7, 10)
NOON = datetime(2026, 7, 11, 17, 0, tzinfo=UTC)
NIGHT = date(2026, 7, 14)


def said(kind, value, *, day=DAY, by="Ada", minutes=0, number=1) -> ObservationRecord:
    at = NOON + timedelta(minutes=minutes)
    return ObservationRecord(kind, day, value, by, at, id=number)


def test_of_two_readings_of_a_day_the_later_recorded_counts() -> None:
    first, second = said("rain", 20.0), said("rain", 2.0, by="Ben", minutes=5, number=2)

    assert observed_of([second, first], NIGHT).rain_mm == {DAY: 2.0}


def test_of_two_readings_of_one_moment_the_later_stored_counts() -> None:
    first, second = said("rain", 20.0), said("rain", 2.0, number=2)

    assert observed_of([second, first], NIGHT).rain_mm == {DAY: 2.0}


def test_no_rain_in_the_gauge_is_a_reading() -> None:
    assert observed_of([said("rain", 0.0)], NIGHT).rain_mm == {DAY: 0.0}


def test_passes_of_one_person_add_and_two_people_saw_the_same_pass() -> None:
    passes = [
        said("irrigation", 10.0),
        said("irrigation", 15.0, by="ada", number=2),
        said("irrigation", 20.0, by="Ben", number=3),
    ]

    assert observed_of(passes, NIGHT).irrigation_mm == {DAY: 25.0}


def test_every_report_of_leaves_is_kept() -> None:
    seen = [said("rolled", 1.0), said("rolled", 0.0, number=2), said("rolled", 1.0, number=3)]

    assert observed_of(seen, NIGHT).reports == (
        Report(DAY, rolled=False),
        Report(DAY, rolled=True),
        Report(DAY, rolled=True),
    )


def test_a_harvest_counts_from_its_day_on() -> None:
    harvest = said("harvest", None, day=NIGHT)

    assert observed_of([harvest], NIGHT).harvested == NIGHT
    assert observed_of([harvest], NIGHT - timedelta(days=1)).harvested is None


def test_what_is_of_a_later_day_than_the_night_waits() -> None:
    seen = [said("rain", 9.0, day=NIGHT + timedelta(days=1)), said("rolled", 1.0)]

    assert observed_of(seen, NIGHT).rain_mm == {}
    assert len(observed_of(seen, NIGHT).reports) == 1


def test_a_field_nobody_observed_has_nothing() -> None:
    assert observed_of([], NIGHT) == Observed()


kinds = st.sampled_from(["rain", "rolled", "irrigation"])
rows = st.lists(
    st.builds(
        lambda kind, value, back, by, minutes: (kind, float(value), back, by, minutes),
        kinds,
        st.integers(0, 1),
        st.integers(0, 3),
        st.sampled_from(["Ada", "Ben"]),
        st.integers(0, 2),
    ),
    max_size=10,
)


@given(rows, st.randoms(use_true_random=False))
def test_the_order_in_which_rows_are_read_changes_nothing(told, chance) -> None:
    records = [
        said(kind, value, day=DAY - timedelta(days=back), by=by, minutes=minutes, number=number)
        for number, (kind, value, back, by, minutes) in enumerate(told)
    ]
    shuffled = records.copy()
    chance.shuffle(shuffled)

    assert observed_of(shuffled, NIGHT) == observed_of(records, NIGHT)
