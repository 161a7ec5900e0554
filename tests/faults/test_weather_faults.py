"""The weather service misbehaves: a person reads why, nothing stored is lost, others go on."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loopback.plays import steady_play
from loopback.power_server import PowerServer
from rootbound_service.weather.answers import AnswerShelf
from rootbound_service.weather.cells import snap
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.http import Caller, Patience
from rootbound_service.weather.nasa_power import NasaPower
from rootbound_service.weather.pull import pull_cells

SOUTH, AMES, NORTH = snap(41.5, -93.62), snap(42.03, -93.62), snap(42.6, -93.62)
FIRST, SECOND = date(2026, 7, 2), date(2026, 7, 3)
JUNE = (date(2026, 6, 1), date(2026, 6, 25))


class Rig:
    """A service, a store that has one night, and a second night to run."""

    def __init__(self, folder: Path, server: PowerServer, patience: Patience):
        self.server = server
        self.caller = Caller(patience)
        self.store = GridStore(folder / "nasa_power.zarr")
        self.shelf = AnswerShelf(folder / "answers")
        self.night(FIRST, SOUTH, AMES, NORTH)

    def replace_caller(self, patience):
        self.caller.close()
        self.caller = Caller(patience)

    def night(self, today, *cells):
        self.server.today = today
        source = NasaPower(self.caller, self.server.url)
        return pull_cells(cells, today, self.store, source, self.shelf, 1)


@pytest.fixture
def make_rig(tmp_path):
    """Give rigs, and take them down."""
    with PowerServer(steady_play(date(2020, 1, 1), date(2026, 12, 31)), FIRST) as server:
        rigs = []

        def make(**patience):
            calm = {"timeout_s": 5, "retries": 0, "backoff_s": 0, "backoff_jitter_s": 0}
            rigs.append(Rig(tmp_path, server, Patience(**(calm | patience))))
            return rigs[-1]

        yield make
        for rig in rigs:
            rig.caller.close()


WHO = "NASA POWER, cell nasa_power:m264-138:s132-86: "
REFUSED = "refused the request (HTTP 422): Please supply a different user name; "


@pytest.mark.parametrize(
    ("fault", "sentence", "retry_later"),
    [
        ("500", "is not well (HTTP 500)", True),
        ("429", "asks us to come back later (HTTP 429)", True),
        ("html", "answered with a web page instead of data", True),
        ("truncated", "the answer was cut short", True),
        ("half", "the answer was cut short or is no data", True),
        ("timeout", "did not answer within 1 s", True),
        ("422", REFUSED + "reserved names are not allowed.", False),
    ],
)
def test_a_fault_is_told_in_a_sentence_and_the_other_cells_go_on(
    make_rig, fault, sentence, retry_later
):
    rig = make_rig()
    if fault == "timeout":
        rig.replace_caller(Patience(timeout_s=1, retries=0))
    before = rig.store.read(AMES, *JUNE)
    copies = rig.shelf.of_cell(AMES)
    rig.server.faults.extend(["", fault, ""])

    south, ames, north = rig.night(SECOND, SOUTH, AMES, NORTH)

    assert (ames.error, ames.retry_later) == (WHO + sentence, retry_later)
    assert (south.error, north.error) == (None, None)
    assert south.known_through == north.known_through == date(2026, 6, 30)
    assert list(rig.store.read(AMES, *JUNE).rain_mm) == list(before.rain_mm)
    assert rig.shelf.of_cell(AMES) == copies


def test_an_answer_full_of_fill_erases_nothing_and_is_no_error(make_rig):
    rig = make_rig()
    rig.server.faults.append("all_fill")

    (result,) = rig.night(SECOND, AMES)

    assert result.error is None
    assert result.known_through == date(2026, 6, 29)  # as the night before
    assert list(rig.store.read(AMES, *JUNE).rain_mm) == [3.0] * 25


def test_the_night_after_a_fault_brings_what_was_missed(make_rig):
    rig = make_rig()
    rig.server.faults.append("html")
    rig.night(SECOND, AMES)

    (result,) = rig.night(date(2026, 7, 4), AMES)

    assert (result.error, result.known_through) == (None, date(2026, 7, 1))


@pytest.mark.parametrize("fault", ["500", "429"])
def test_trouble_that_passes_is_not_even_told(make_rig, fault):
    rig = make_rig(retries=4)
    rig.server.faults.extend([fault, fault])

    (result,) = rig.night(SECOND, AMES)

    assert (result.error, result.known_through) == (None, date(2026, 6, 30))


def test_a_cell_whose_history_fails_is_tried_whole_the_next_night(make_rig):
    rig = make_rig()
    new = snap(43.5, -93.62)
    rig.server.faults.append("truncated")

    (failed,) = rig.night(SECOND, new)
    (came,) = rig.night(date(2026, 7, 4), new)

    assert failed.error is not None
    assert (came.start, came.error) == (date(2025, 1, 1), None)


def test_a_disk_that_is_full_is_told_and_the_other_cells_go_on(make_rig, monkeypatch):
    rig = make_rig()
    keep = rig.shelf.keep

    def full(cell, answer):
        if cell == AMES:
            raise OSError(28, "No space left on device")
        return keep(cell, answer)

    monkeypatch.setattr(rig.shelf, "keep", full)
    ames, north = rig.night(SECOND, AMES, NORTH)

    assert ames.error is not None
    assert "could not be stored (OSError: [Errno 28] No space left on device)" in ames.error
    assert north.error is None
