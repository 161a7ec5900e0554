"""gridMET over OPeNDAP: requests, units, days that are not there yet, faults on the way."""

from __future__ import annotations

import math
import re
from datetime import date

import numpy as np
import pytest
import responses

from rootbound_rules.water.air import saturation
from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import QUANTITY_NAMES, Ask, Status
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.gridmet_names import GRID
from service.weather.sources.gridmet_rig import CELL, ERROR, LENGTH, URL, Service, day, fetch

LAST = day(LENGTH - 1)
ON = date(2026, 7, 8)
ASK = Ask((CELL,), date(2026, 7, 3), LAST, ON)


def test_packed_numbers_become_our_quantities_and_units():
    block = fetch(ASK)

    first = dict(zip(QUANTITY_NAMES, block.values[:, 0, 0], strict=True))
    step = (LENGTH - 4) % 7 + 10 * (177 % 3) + 30 * (748 % 3)
    tmax, tmin = (812 + step) / 10 + 220 - 273.15, (800 + step) / 10 + 210 - 273.15
    rhmax, rhmin = (900 + step) / 10, (400 + step) / 10
    assert block.values.shape == (6, 1, 4)
    assert first["tmax_c"] == pytest.approx(tmax)
    assert first["tmin_c"] == pytest.approx(tmin)
    assert first["rain_mm"] == pytest.approx(step / 10)
    assert first["solar_mj"] == pytest.approx((2500 + step) / 10 * 0.0864)
    # ASCE-EWRI 2005 Eq. 33: 0.748 of the wind at 10 m
    assert first["wind_m_s"] == pytest.approx((30 + step) / 10 * 0.748, rel=1e-3)
    # FAO-56 Eq. 17 and Eq. 14
    vapour = (saturation(tmin) * rhmax + saturation(tmax) * rhmin) / 200
    assert saturation(first["dewpoint_c"]) == pytest.approx(vapour)


def test_the_request_has_its_brackets_percent_encoded_and_asks_only_for_the_days_there_are():
    service = Service()

    block = fetch(Ask((CELL,), date(2026, 7, 5), date(2026, 7, 7), ON), service)

    box = f"%5B{LENGTH - 2}:1:{LENGTH - 1}%5D%5B177:1:177%5D%5B748:1:748%5D"
    assert ("tmmx", "ascii", f"daily_maximum_temperature{box}") in service.seen
    assert [math.isnan(value) for value in block.values[0, 0]] == [False, False, True]


def test_neighbours_share_a_request_and_each_gets_its_own_numbers():
    cells = (GRID.cell(176, 744), GRID.cell(170, 750), CELL)
    service = Service()

    block = fetch(Ask(cells, date(2026, 6, 1), LAST, ON), service)

    assert [kind for _, kind, _ in service.seen].count("ascii") == 7
    for index, cell in enumerate(cells):
        alone = fetch(Ask((cell,), date(2026, 6, 1), LAST, ON))
        np.testing.assert_array_equal(block.values[:, index], alone.values[:, 0])


def test_description_is_read_once_and_the_length_again_only_on_another_day():
    service = Service()
    with responses.RequestsMock() as mock:
        mock.add_callback("GET", re.compile(re.escape(URL)), service)
        caller = Caller(Patience(retries=0))
        source = GridMet(caller, URL)
        for on in (ON, ON, date(2026, 7, 9)):
            source.fetch(Ask((CELL,), date(2026, 7, 3), date(2026, 7, 7), on))
        caller.close()

    kinds = [kind for _, kind, _ in service.seen]
    assert (kinds.count("das"), kinds.count("dds"), kinds.count("ascii")) == (7, 14, 21)


def test_a_leap_day_is_a_day_of_the_axis():
    block = fetch(Ask((CELL,), date(2024, 2, 27), date(2024, 3, 2), ON))

    # 2024-02-29 is day 16,495 counted from 1979-01-01; the rig's numbers follow the index
    assert (date(2024, 2, 29) - date(1979, 1, 1)).days == 16_495
    steps = [(16_493 + k) % 7 for k in range(5)]
    rain = block.values[2, 0] * 10 - 10 * (177 % 3) - 30 * (748 % 3)
    assert [round(value) for value in rain] == steps


def test_sea_cells_are_missing_and_nothing_else():
    block = fetch(ASK, Service(number=lambda *_: 32767))

    assert np.isnan(block.values).all()


def test_only_age_makes_a_day_final():
    block = fetch(Ask((CELL,), date(2026, 4, 22), date(2026, 4, 26), ON))

    # 75 days before 8 July is 24 April
    assert block.status[0].tolist() == [Status.FINAL] * 2 + [Status.PROVISIONAL] * 3


def test_days_that_are_all_too_new_are_asked_for_later():
    with pytest.raises(Unavailable, match="no day from 2026-07-07 on yet") as caught:
        fetch(Ask((CELL,), date(2026, 7, 7), date(2026, 7, 7), ON))

    assert caught.value.retry_later


FAULTS = [
    (
        "das",
        lambda text: text.replace("Float64 scale_factor", "Float64 scale"),
        "how it is packed",
        False,
    ),
    (
        "das",
        lambda text: text.replace("scale_factor 0.1", "scale_factor -1"),
        "is packed by",
        False,
    ),
    ("das", lambda text: text.replace("scale_factor", "add_offset"), "has two add_offset", False),
    ("das", lambda text: text.replace("scale_factor 0.1", "scale_factor 1_0"), "no number", False),
    ("das", lambda text: text[: len(text) // 2], "cut short", True),
    (
        "das",
        lambda text: text.replace('units "K"', 'units "F"'),
        "'F', a unit we do not know",
        False,
    ),
    ("das", lambda text: text.replace("days since", "hours since"), "days are counted in", False),
    ("das", lambda text: text.replace("scale_factor 0.1", "scale_factor x"), "is no number", False),
    ("dds", lambda text: text.replace("lat = 585", "lat = 586"), "the grid has changed", False),
    ("dds", lambda text: text[:60], "cut short", True),
    ("ascii", lambda text: ERROR, "stop >= size: 99999:17431", True),
    ("ascii", lambda text: text.replace("46206.0", "46207.0"), "day is not the one", False),
    ("ascii", lambda text: text.replace("42.025", "42.0666"), "lat is not the one", False),
    ("ascii", lambda text: text.replace("-93.59", "-93.64"), "lon is not the one", False),
    ("ascii", lambda text: text.replace("[2][0], ", "[2][0], 1, "), "a row is too long", False),
    ("ascii", lambda text: text.replace("[2][0], ", "[2][0], x"), "is no number", False),
    ("ascii", lambda text: text.replace("[2][0]", "[3][0]"), "not where it belongs", False),
    ("ascii", lambda text: re.sub(r"\[3\]\[0\].*\n", "", text), "cut short", True),
    ("ascii", lambda text: text.replace("[3][0]", "[3][0], 1\n[4][0]"), "more rows", False),
    ("ascii", lambda text: "<html>maintenance</html>", "web page", True),
    ("ascii", lambda text: (404, {}, "no"), "HTTP 404", False),
    ("ascii", lambda text: (503, {}, "no"), "HTTP 503", True),
    ("ascii", lambda text: "", "cut short", True),
    ("ascii", lambda text: "hello\n", "no OPeNDAP ascii", False),
]


@pytest.mark.parametrize(("kind", "fault", "what", "later"), FAULTS)
def test_a_faulty_answer_is_refused_by_name(kind, fault, what, later):
    service = Service(spoil=lambda short, got, text: fault(text) if got == kind else text)

    with pytest.raises(Unavailable, match=what) as caught:
        fetch(ASK, service)

    assert caught.value.retry_later is later
    assert str(caught.value).startswith("gridMET, cell gridmet:177-748: ")


def test_history_goes_cell_by_cell_in_some_years_and_recent_days_by_tile():
    cells = (CELL, GRID.cell(178, 749), GRID.cell(200, 700))  # the first two in one tile
    source = GridMet(None, URL)

    short = list(source.split(Ask(cells, date(2026, 5, 1), LAST, ON)))
    long = list(source.split(Ask(cells, date(2015, 3, 1), date(2025, 12, 31), ON)))

    assert [len(one.cells) for one in short] == [2, 1]
    assert [(one.start, one.end) for one in long if one.cells == (CELL,)] == [
        (date(2015, 3, 1), date(2019, 12, 31)),
        (date(2020, 1, 1), date(2024, 12, 31)),
        (date(2025, 1, 1), date(2025, 12, 31)),
    ]
    assert len(long) == 9


@pytest.mark.parametrize(
    ("lat", "lon", "key"),
    [
        (42.03, -93.62, "gridmet:177-748"),
        (49.4, -124.76666663, "gridmet:0-0"),
        (25.0667, -67.0583, "gridmet:584-1385"),
        (49.4 - 0.5 / 24, -124.76666663 + 0.5 / 24, "gridmet:0-1"),  # between four: north-east
        (49.43, -100.0, None),
        (42.0, -66.9, None),
        (-33.0, 18.6, None),
        (52.0, 179.99, None),
    ],
)
def test_places_go_to_the_cells_of_the_service(lat, lon, key):
    cell = GRID.snap(lat, lon)

    assert (cell.key if cell else None) == key
