"""Stored forecasts: what a night could know, and what is wrong with a table of them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.replay.forecast_file import read_forecasts
from service.replay.rig import FIELD

HEAD = "issued,date,tmax_c,tmin_c,rain_mm"
NIGHT = date(2004, 7, 14)


@pytest.fixture
def read(tmp_path):
    def go(*lines, head=HEAD):
        path = tmp_path / "forecasts.csv"
        path.write_text("\n".join((head, *lines)) + "\n", encoding="utf-8")
        return read_forecasts(path)

    return go


def an_issue(issued, days=10, rain=5.0, first=None):
    """Lines of one issue, a constant rain on every day."""
    start = first or date.fromisoformat(issued[:10])
    return [f"{issued},{start + timedelta(days=k)},30,15,{rain}" for k in range(days)]


def test_a_night_takes_the_issue_of_its_own_morning_for_as_many_days_as_are_trusted(read):
    found = read(*an_issue("2004-07-14T06:00")).known(FIELD, 0, NIGHT)

    assert found.start == NIGHT
    assert found.days == 7
    assert (found.rain_mm == 5.0).all()
    assert found.et0_mm.min() > 3.0


def test_an_ensemble_is_trusted_for_longer_and_keeps_its_members_apart(read):
    lines = [
        f"{line},{member}"
        for member, rain in ((0, 0.0), (1, 20.0))
        for line in an_issue("2004-07-14", 15, rain)
    ]

    found = read(*lines, head=f"{HEAD},member").known(FIELD, 0, NIGHT)

    assert found.days == 10
    assert sorted(set(found.rain_mm[:, 0])) == [0.0, 20.0]
    assert (found.rain_mm[:, 0] == 20.0).mean() == 0.5


def test_the_newest_issue_wins(read):
    found = read(
        *an_issue("2004-07-13T12:00", rain=1.0), *an_issue("2004-07-14T03:00", rain=9.0)
    ).known(FIELD, 0, NIGHT)

    assert (found.rain_mm == 9.0).all()


def test_an_issue_after_the_nights_morning_is_not_known_yet(read):
    late = an_issue("2004-07-14T12:01", rain=9.0)

    assert read(*late).known(FIELD, 0, NIGHT) is None
    assert (read(*late, *an_issue("2004-07-14")).known(FIELD, 0, NIGHT).rain_mm == 5.0).all()
    assert read(*an_issue("2004-07-14T12:00")).known(FIELD, 0, NIGHT) is not None


def test_an_issue_older_than_36_hours_counts_no_more(read):
    morning = datetime(2004, 7, 14, 12, tzinfo=UTC)
    old = (morning - timedelta(hours=36, minutes=1)).isoformat()
    edge = (morning - timedelta(hours=36)).isoformat()

    assert read(*an_issue(old)).known(FIELD, 0, NIGHT) is None
    assert read(*an_issue(edge)).known(FIELD, 0, NIGHT) is not None


def test_an_offset_is_taken_for_what_it_is(read):
    assert read(*an_issue("2004-07-14T08:00-05:00")).known(FIELD, 0, NIGHT) is None
    assert read(*an_issue("2004-07-14T06:00-05:00")).known(FIELD, 0, NIGHT) is not None


def test_a_day_that_is_missing_ends_what_the_issue_tells(read):
    lines = an_issue("2004-07-14")
    lines[3] = "2004-07-14,2004-07-17,30,15,"

    assert read(*lines).known(FIELD, 0, NIGHT).days == 3
    assert read(*lines[:3], *lines[4:]).known(FIELD, 0, NIGHT).days == 3


def test_an_issue_that_begins_tomorrow_says_nothing_of_tonight(read):
    lines = an_issue("2004-07-14", first=date(2004, 7, 15))

    assert read(*lines).known(FIELD, 0, NIGHT) is None


def test_where_weather_is_late_older_issues_bridge_the_days_between(read):
    found = read(*an_issue("2004-07-12", rain=1.0), *an_issue("2004-07-14", rain=9.0)).known(
        FIELD, 2, NIGHT
    )

    assert found.start == date(2004, 7, 12)
    assert found.rain_mm[0].tolist()[:4] == [1.0, 1.0, 9.0, 9.0]


def test_given_radiation_counts(read):
    lines = [f"{line},{solar}" for line, solar in zip(an_issue("2004-07-14"), [5.0] * 10)]  # noqa: B905

    dull = read(*lines, head=f"{HEAD},solar_mj").known(FIELD, 0, NIGHT)

    assert dull.et0_mm.max() < read(*an_issue("2004-07-14")).known(FIELD, 0, NIGHT).et0_mm.min()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("yesterday,2004-07-14,30,15,0", r'line 2, issued: "yesterday" is no moment; write 2012'),
        ("2004-07-14,14 July,30,15,0", r'line 2, date: "14 July" is no day'),
        ("2004-07-14,2004-07-14,86,59,0", r"line 2, tmax_c: is 86; .*Fahrenheit"),
        ("2004-07-14,2004-07-14,15,30,0", r"line 2: tmax_c 15 is below tmin_c 30"),
        ("2004-07-14,2004-07-14,30,15,wet", r'line 2, rain_mm: "wet" is not a number'),
        ("2004-07-14,2004-07-14,30,15,-1", r"line 2, rain_mm: is -1"),
        ("2004-07-14,2003-07-14,30,15,0", r"lies -366 days after the issue"),
        ("2004-07-14,2004-07-14,30,15", r"line 2: the row is broken"),
    ],
)
def test_what_is_wrong_is_named_with_its_line(read, line, said):
    with pytest.raises(RefusedInput, match=rf"forecasts\.csv, .*{said}"):
        read(line)


def test_a_day_given_twice_is_refused_with_both_lines(read):
    with pytest.raises(RefusedInput, match="line 3: 2004-07-14 of this issue stands already in"):
        read(*an_issue("2004-07-14", 1), *an_issue("2004-07-14", 1))


def test_a_member_must_be_a_number(read):
    with pytest.raises(RefusedInput, match=r"line 2, member: .*is no member"):
        read("2004-07-14,2004-07-14,30,15,0,first", head=f"{HEAD},member")


def test_only_the_first_problems_are_told(read):
    with pytest.raises(RefusedInput) as refused:
        read(*["2004-07-14,2004-07-14,x,15,0"] * 30)

    assert len(refused.value.problems) == 21
    assert "has 10 more problems" in str(refused.value)


def test_a_table_without_a_needed_column_is_refused(read):
    with pytest.raises(RefusedInput, match="the column rain_mm is missing"):
        read("2004-07-14,2004-07-14,30,15", head="issued,date,tmax_c,tmin_c")
