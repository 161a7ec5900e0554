"""A night that asks for forecasts has the coming days of its place beside the known ones."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rootbound_service.nights.gather import gather
from service.nights.public_rig import a_public_rig
from service.nights.rig import a_field

NIGHT = date(2026, 7, 6)


LAG = 3
"""Nights before it on which a forecast was kept: the weather comes days late."""


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    """A service that has kept forecasts for some nights."""
    begin = NIGHT - timedelta(days=LAG)
    with a_public_rig(tmp_path_factory.mktemp("coming"), begin) as made:
        made.enrol(a_field("Long Acre"))
        for back in range(LAG + 1):
            night = begin + timedelta(days=back)
            made.at(night)
            cell = the_cell(gather(made.service.parts, night))
            made.first = made.first if back else cell
        yield made


def the_cell(gathered):
    (cell,) = gathered.cells.values()
    return cell


def test_a_first_night_has_a_gap_that_no_older_issue_closes_and_uses_no_forecast(rig):
    assert rig.first.known_through < NIGHT - timedelta(days=LAG + 1)
    assert rig.first.coming is None


def test_later_nights_have_the_days_between_from_older_issues_and_the_forecast_is_named(rig):
    cell = the_cell(gather(rig.service.parts, NIGHT, pull=False))
    days = cell.coming_of("maize")
    assert days is not None
    assert days.start == cell.known_through + timedelta(days=1)
    assert days.start < NIGHT <= days.end
    assert cell.coming.title == "US National Weather Service"


def test_a_place_without_a_kept_forecast_has_its_night_all_the_same(rig, monkeypatch):
    monkeypatch.setattr(rig.service.parts.forecasts, "issues", lambda *_: [])
    cell = the_cell(gather(rig.service.parts, NIGHT, pull=False))
    assert cell.coming is None
    assert cell.coming_of("maize") is None
    assert cell.known_through is not None


def test_a_night_played_again_later_knows_no_forecast_made_since(rig):
    first = the_cell(gather(rig.service.parts, NIGHT, pull=False)).coming
    for later in (NIGHT + timedelta(days=1), NIGHT + timedelta(days=3)):
        rig.at(later)
        gather(rig.service.parts, later)
    again = the_cell(gather(rig.service.parts, NIGHT, pull=False)).coming
    assert (again.issued, again.through) == (first.issued, first.through)
