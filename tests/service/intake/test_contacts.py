"""What somebody wants by a way: checked, with what is usual where nothing is said."""

from __future__ import annotations

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.contacts import Wishes, read_wishes
from rootbound_service.intake.readers import read_reader


def test_what_is_usual_differs_by_the_way():
    assert read_wishes({"email": "Ada@Quill.example"}) == Wishes(
        "email", "Ada@quill.example", 0, 0, notes=True
    )
    assert read_wishes({"text": "515 555 0121"}) == Wishes(
        "text", "+15155550121", 2, None, notes=True
    )


@pytest.mark.parametrize(
    ("said", "day"),
    [("monday", 0), ("Fri", 4), ("SUNDAY ", 6), ("th", 3), ("never", None)],
)
def test_a_weekday_may_be_cut_short(said, day):
    assert read_wishes({"email": "a@quill.example", "digest": said}).digest_day == day


@pytest.mark.parametrize("said", ["", "t", "s", "monkey", "mondays", "8"])
def test_what_is_no_weekday_or_two_is_asked_for_again(said):
    with pytest.raises(RefusedInput, match="weekday"):
        read_wishes({"email": "a@quill.example", "digest": said})


def test_everything_wrong_is_said_at_once():
    with pytest.raises(RefusedInput) as refused:
        read_wishes({"email": "nobody", "from_rung": 7, "digest": "someday"})

    where = [one.where for one in refused.value.problems]
    assert where == ["--email", "--from-rung", "--digest"]


def test_how_somebody_reads_is_put_into_its_right_form():
    given = {"units": "US", "time_zone": "america/new_york", "language": " EN"}

    assert read_reader(given, ("en",)) == {
        "units": "us",
        "time_zone": "America/New_York",
        "language": "en",
    }
    assert read_reader({}, ("en",)) == {}


def test_every_part_that_is_wrong_is_named_with_what_would_be_right():
    with pytest.raises(RefusedInput) as refused:
        read_reader({"units": "feet", "time_zone": "Chicago", "language": "xx"}, ("en", "de"))

    told = {one.where: one.wanted for one in refused.value.problems}
    assert told["--units"] == "give metric or us"
    assert told["--language"] == "give de or en"
    assert "America/Chicago" in told["--time-zone"]
