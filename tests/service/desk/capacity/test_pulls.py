"""What is asked for, against the rooms that ask and against the service's own turns."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest
import responses

from rootbound_service.desk.capacity.asked import Asked, Manners
from rootbound_service.desk.capacity.measured import shipped
from rootbound_service.desk.capacity.places import beside, laid_out, lying
from rootbound_service.desk.capacity.pulls import FIRST, USUAL, pulls_of, seconds_of
from rootbound_service.public.http import Caller, Patience
from rootbound_service.public.pace import Pace, Turns
from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.gridmet_names import GRID, HABITS, TILE, VARIABLES
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.weather.sources.power_names import GRID as POWER
from rootbound_service.weather.spans import PIECE_YEARS, SETTLING
from rootbound_service.wiring import POLITE_PAUSE_S
from service.weather.sources.gridmet_rig import URL, Service

MEASURED = shipped()
POLITE = Manners(POLITE_PAUSE_S)


def pulls(cells: int, manners: Manners = POLITE):
    asked = Asked(20 * cells, manners, cells)
    return pulls_of(asked, lying(asked.fields, cells), MEASURED)


def by_source(found):
    return {one.source: one for one in found}


def test_requests_of_gridmet_are_those_that_the_service_makes():
    cells = laid_out("gridmet", 300)
    service = Service()
    with responses.RequestsMock() as mock:
        mock.add_callback("GET", re.compile(re.escape(URL)), service)
        caller = Caller(Patience(retries=0))
        source = GridMet(caller, URL)
        yesterday, start = USUAL - timedelta(days=1), USUAL - timedelta(days=HABITS.recent)
        for ask in source.split(Ask(cells, start, yesterday, USUAL)):
            source.fetch(ask)
        caller.close()
    made = [kind for _, kind, _ in service.seen].count("ascii")

    assert by_source(pulls(300).usual)["gridmet"].requests == made


def test_a_whole_tile_of_gridmet_costs_one_request_a_variable():
    whole = TILE * TILE
    many = by_source(pulls(100 * whole).usual)["gridmet"].requests

    # a block that starts anywhere touches a few tiles more at its edges
    assert 100 <= many / len(VARIABLES) <= 130


def test_time_is_that_of_the_services_own_turns_at_its_own_pause():
    clock = [0.0]

    def wait(seconds: float) -> None:
        clock[0] += seconds

    found = by_source(pulls(40).usual)["nws"]
    answers_in = 0.4
    turns = Turns(wait, lambda: clock[0])
    for _ in range(found.requests):
        turns.take("weather.example", Pace(POLITE_PAUSE_S), "the weather")
        clock[0] += answers_in
    quick = MEASURED.figures | {"answer_s": replace(MEASURED.figures["answer_s"], value=answers_in)}
    asked = Asked(800, POLITE, 40)
    told = by_source(pulls_of(asked, lying(800, 40), type(MEASURED)(quick)).usual)["nws"]

    last_pause = POLITE_PAUSE_S - answers_in  # nobody waits after the last
    assert told.seconds == pytest.approx(clock[0] + last_pause)


def test_a_slow_service_sets_the_pace_itself():
    slow = MEASURED.figures | {"answer_s": replace(MEASURED.figures["answer_s"], value=7.0)}
    asked = Asked(800, POLITE, 40)
    found = pulls_of(asked, lying(800, 40), type(MEASURED)(slow))

    assert seconds_of(found.usual) == 7.0 * sum(one.requests for one in found.usual)


def test_a_forecast_is_asked_for_every_place_where_the_order_names_a_service():
    assert by_source(pulls(1_000).usual)["nws"].requests == 1_000
    elsewhere = pulls_of(
        Asked(10**8, POLITE), replace(lying(10**8), cells={"nasa_power": 500}), MEASURED
    )
    assert set(by_source(elsewhere.usual)) == {"nasa_power"}


def test_on_the_first_of_a_month_nasa_power_is_asked_cell_by_cell():
    found = pulls(20_000)
    usual, first = by_source(found.usual)["nasa_power"], by_source(found.first)["nasa_power"]
    pieces = by_source(pulls(20_000, replace(POLITE, pieces=True)).first)["nasa_power"]

    assert NasaPower.habits.settled + SETTLING > 60
    assert usual.requests < first.requests
    assert first.requests == len(beside(20_000))
    assert pieces.requests < first.requests / 2


def test_past_years_go_cell_by_cell_some_years_at_a_time():
    asked = Asked(2_000, POLITE, 100)
    (past,) = pulls_of(asked, lying(2_000, 100), MEASURED).past

    assert past.requests == 100 * len(VARIABLES) * asked.habits.years / PIECE_YEARS
    filed = pulls(100, replace(POLITE, days="files")).past[0]
    assert filed.requests == asked.habits.years * len(VARIABLES)


def test_cells_that_stand_in_are_those_that_the_service_would_snap_to():
    cells = laid_out("gridmet", 1_000)

    assert set(beside(1_000)) == {POWER.snap(*cell.centre) for cell in cells}


@pytest.mark.parametrize("many", [1, 7, 643, 5_000])
def test_laid_out_cells_are_that_many_different_ones_of_the_grid(many):
    cells = laid_out("gridmet", many)

    assert len(set(cells)) == many
    assert all(GRID.cell(cell.row, cell.column) == cell for cell in cells)


def test_the_usual_night_and_the_first_are_what_they_are_called():
    assert FIRST.day == 1
    assert USUAL.day != 1
