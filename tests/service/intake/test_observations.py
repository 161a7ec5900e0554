"""What people saw is read as they write it, and refused with what would be right."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.observations import as_new, observation_records, withdrawal
from rootbound_service.records import FieldRecord, ObservationRecord, Person, SoilRecord

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)
"""Still the 13th in Iowa."""
PLANTED = date(2026, 5, 4)


def field(units: str = "us", zone: str = "America/Chicago") -> FieldRecord:
    grower = Person("Ada Quill", "ada@quill.example", "grower", units, zone)  # type: ignore[arg-type]
    return FieldRecord(
        name="North Forty",
        lat=42.0,
        lon=-93.6,
        elevation_m=None,
        row_spacing_cm=76.2,
        time_zone=zone,
        grower=grower,
        adviser=None,
        soil=SoilRecord("loam"),
        crop="maize",
        planted=PLANTED,
        black_layer_gdd_f=None,
        seed_depth_cm=5.0,
    )


def read(units: str = "us", **values: object) -> tuple[ObservationRecord, ...]:
    usual: dict[str, object] = {"date": "2026-07-10", "by": "Ada"}
    return observation_records(usual | values, field(units), NOW)


def refusal(units: str = "us", **values: object) -> str:
    with pytest.raises(RefusedInput) as refused:
        read(units, **values)
    return str(refused.value)


@pytest.mark.parametrize(
    ("text", "units", "mm"),
    [
        ("0.8 in", "us", 20.32),
        ("0.8 in", "metric", 20.32),
        ("0.8in", "us", 20.32),
        ('0.8"', "us", 20.32),
        ("0.8 inches", "metric", 20.32),
        ("20 mm", "us", 20.0),
        ("20MM", "metric", 20.0),
        ("0.8", "us", 20.32),
        ("20", "metric", 20.0),
        (20, "metric", 20.0),
        ("0", "us", 0.0),
        ("300 mm", "us", 300.0),
    ],
)
def test_a_depth_is_read_in_its_own_unit_else_in_the_growers(text, units, mm) -> None:
    (record,) = read(units, rain=text)

    assert (record.kind, record.value) == ("rain", pytest.approx(mm))
    assert (record.day, record.by, record.recorded_at) == (date(2026, 7, 10), "Ada", NOW)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"rain": "20"}, "rain: 20 is above what it can be; rain of a day is 0 to 11.8 in"),
        ({"rain": "301 mm"}, "rain: 301 is above what it can be; rain of a day is 0 to 11.8 in or"),
        ({"rain": "-0.2 in"}, "rain: -0.2 is negative; rain of a day is"),
        ({"rain": "0,8 in"}, 'rain: "0,8" has a decimal comma; write 0.8 with a point'),
        ({"rain": "2 cm"}, 'rain: "cm" is not a unit of water; write in or mm'),
        ({"rain": "a lot"}, "rain: "),
        ({"rain": "in"}, 'rain: "" is not a number'),
        ({"rain": "nan"}, "rain: "),
        ({"rain": True}, 'rain: "True" is not a number'),
        ({"irrigation": "151 mm"}, "irrigation: 151 is above what it can be; irrigation of a day"),
        ({"irrigation": "6 in"}, "irrigation: 6 is above what it can be"),
        ({"rolled": "maybe"}, 'rolled: "maybe" is neither yes nor no; write yes or no'),
        ({"rain": "1 in", "date": "2026-07-14"}, "date: 2026-07-14 is in the future (today is"),
        (
            {"rain": "1 in", "date": "2026-05-03"},
            "date: 2026-05-03 is before planting (2026-05-04)",
        ),
        ({"rain": "1 in", "date": "7/10"}, 'date: "7/10" is not a day; write the day as year-'),
        ({"harvested": "yes"}, "date: 2026-07-10 is 67 days after planting (2026-05-04); no crop"),
        ({"rain": "1 in", "by": " "}, "by: is missing; say who saw or did it"),
        ({"morning": "yes", "rolled": "yes"}, "morning: is about a rain gauge, and no rain is"),
        ({"note": "looks dry"}, "rain: nothing is given that was seen or done; give rain"),
        ({"rolled": "no", "mood": "good"}, "mood: is not a known name; "),
    ],
)
def test_what_is_wrong_is_named_with_what_would_be_right(values, told) -> None:
    assert told in refusal(**values)


def test_every_problem_of_a_form_is_told_at_once() -> None:
    told = refusal(rain="999 mm", date="2026-01-01", by="")

    assert [line.partition(":")[0] for line in sorted(told.splitlines())] == ["by", "date", "rain"]


def test_one_form_may_tell_of_several_things_of_a_day() -> None:
    records = read(rain="0", irrigation="1 in", rolled="yes", note="2 pm", form_id="phone-7")

    assert [(one.kind, one.value) for one in records] == [
        ("rain", 0.0),
        ("irrigation", pytest.approx(25.4)),
        ("rolled", 1.0),
    ]
    assert [one.form_id for one in records] == [
        "phone-7-rain",
        "phone-7-irrigation",
        "phone-7-rolled",
    ]
    assert {one.note for one in records} == {"2 pm"}


@pytest.mark.parametrize(("said", "value"), [("yes", 1.0), ("no", 0.0), (False, 0.0)])
def test_rolled_and_not_rolled_are_both_observations(said, value) -> None:
    (record,) = read(rolled=said)

    assert (record.kind, record.value) == ("rolled", value)


def test_a_gauge_read_in_the_morning_tells_of_the_day_before() -> None:
    rain, rolled = read(rain="0.4 in", morning="yes", rolled="no", note="back gauge")

    assert (rain.day, rolled.day) == (date(2026, 7, 9), date(2026, 7, 10))
    assert rain.note == "read in the morning of 2026-07-10; back gauge"
    assert rolled.note == "back gauge"


def test_a_gauge_read_in_the_morning_of_planting_tells_of_no_day_of_the_season() -> None:
    told = refusal(rain="0.4 in", morning="yes", date="2026-05-04")

    assert "morning: the rain before the morning of 2026-05-04 fell before planting" in told


def test_today_is_the_fields_own_day() -> None:
    told = {"date": "2026-07-14", "by": "Ada", "rolled": "no"}
    (east,) = observation_records(told, field(zone="Europe/Berlin"), NOW)

    assert east.day == date(2026, 7, 14)
    assert "today is 2026-07-13" in refusal(rolled="no", date="2026-07-14")


def test_a_harvest_from_the_first_possible_day_on_is_taken() -> None:
    late = datetime(2026, 10, 14, 3, 0, tzinfo=UTC)
    day = PLANTED + timedelta(days=80)
    told = {"date": str(day), "by": "Ada", "harvested": "yes"}

    assert observation_records(told, field(), late)[0].kind == "harvest"
    with pytest.raises(RefusedInput, match="no crop reaches R5 within 80 days"):
        observation_records(told | {"date": str(day - timedelta(days=1))}, field(), late)


def test_the_same_thing_typed_twice_has_one_form_and_said_anew_another() -> None:
    (one,) = read(rain="1 in")
    (two,) = observation_records({"date": "2026-07-10", "by": "ada", "rain": "1 in"}, field(), NOW)
    stored = ObservationRecord("rain", one.day, one.value, "Ada", NOW, id=4)
    back = ObservationRecord("rain", one.day, None, "Ada", NOW, withdraws=4, id=5)

    assert as_new(one, ()).form_id == as_new(two, (stored,)).form_id
    assert as_new(one, (stored, back)).form_id != as_new(one, (stored,)).form_id
    assert as_new(read(rain="2 in")[0], ()).form_id != as_new(one, ()).form_id


@pytest.mark.parametrize("number", ["x", "-1", "0", "1.5", ""])
def test_a_withdrawal_wants_an_id(number) -> None:
    with pytest.raises(RefusedInput, match="give the id of an observation"):
        withdrawal({"withdraw": number, "by": "Ada"}, field(), NOW)


def test_a_withdrawal_names_what_it_takes_back() -> None:
    record = withdrawal({"withdraw": "#4", "by": "Ben", "note": "other field"}, field(), NOW)

    assert (record.withdraws, record.by, record.note) == (4, "Ben", "other field")
    assert (record.value, record.form_id) == (None, "withdraw-4")


@given(st.text(max_size=20))
def test_any_text_as_rain_is_a_depth_or_a_refusal(text) -> None:
    try:
        records = read(rain=text)
    except RefusedInput as refused:
        assert all(one.what and one.wanted for one in refused.problems)  # noqa: PT017
    else:
        assert 0.0 <= (records[0].value or 0.0) <= 300.0


@given(st.floats(0, 300))
def test_inches_and_millimetres_are_one_depth(mm) -> None:
    (inches,) = read("metric", rain=f"{mm / 25.4:.9f} in")
    (plain,) = read("us", rain=f"{mm:.9f} mm")

    assert inches.value == pytest.approx(plain.value, abs=1e-6)
