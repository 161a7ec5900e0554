"""The weather service misbehaves: a person reads why, nothing stored is lost, others go on."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from loopback.plays import steady_play
from loopback.power_server import PowerServer
from rootbound_service.public.http import Caller, Patience
from rootbound_service.weather.answers import AnswerShelf
from rootbound_service.weather.bring import bring_night
from rootbound_service.weather.feed import Feed
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.normals_shelf import NormalsShelf
from rootbound_service.weather.places import Place
from rootbound_service.weather.sources.nasa_power import NasaPower

GRID = NasaPower.grid
SOUTH, AMES, NORTH = (GRID.snap(lat, -93.62) for lat in (41.5, 42.03, 42.6))
FIRST, SECOND = date(2026, 7, 2), date(2026, 7, 3)
BEGIN = date(2026, 4, 1)
JUNE = (date(2026, 6, 1), date(2026, 6, 25))


class Rig:
    """A service, a store that has one night, and a second night to run."""

    def __init__(self, folder: Path, server: PowerServer, patience: Patience):
        self.server = server
        self.caller = Caller(patience)
        self.store = GridStore(folder / "nasa_power.zarr", "nasa_power")
        self.shelf = AnswerShelf(folder / "answers")
        self.night(FIRST, SOUTH, AMES, NORTH)

    def replace_caller(self, patience):
        self.caller.close()
        self.caller = Caller(patience)

    def night(self, today, *cells):
        self.server.today = today
        feed = Feed(NasaPower(self.caller, self.server.url), self.store, self.shelf)
        places = [Place(cell) for cell in cells]
        (found,) = bring_night({"nasa_power": feed}, places, today, BEGIN, NormalsShelf(5))
        return found

    def through(self, *cells):
        return [span.last_day for span in self.store.spans(cells)]

    def rain(self, cell):
        return self.store.read([cell], *JUNE, ["rain_mm"]).usable()[0, 0]


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


WHO = "NASA POWER, cell nasa_power:264-138: "
REFUSED = "refused the request (HTTP 422): Please supply a different user name; "


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ("500", "is not well (HTTP 500)"),
        ("429", "asks us to come back later (HTTP 429)"),
        ("html", "answered with a web page instead of data"),
        ("truncated", "the answer was cut short"),
        ("half", "the answer was cut short or is no data"),
        ("timeout", "did not answer within 1 s"),
        ("422", REFUSED + "reserved names are not allowed."),
    ],
)
def test_a_fault_is_told_in_a_sentence_and_the_other_cells_go_on(make_rig, fault, sentence):
    rig = make_rig()
    if fault == "timeout":
        rig.replace_caller(Patience(timeout_s=1, retries=0))
    before, copies = rig.rain(AMES), rig.shelf.of_cell(AMES)
    rig.server.faults.extend(["", fault, ""])

    found = rig.night(SECOND, SOUTH, AMES, NORTH)

    assert found.failed == {AMES.key: WHO + sentence}
    assert rig.through(SOUTH, NORTH) == [date(2026, 6, 30)] * 2
    assert rig.through(AMES) == [date(2026, 6, 29)]
    assert list(rig.rain(AMES)) == list(before)
    assert rig.shelf.of_cell(AMES) == copies


def test_an_answer_full_of_fill_erases_nothing_and_is_no_error(make_rig):
    rig = make_rig()
    rig.server.faults.append("all_fill")

    found = rig.night(SECOND, AMES)

    assert (found.failed, found.new, found.revised) == ({}, 0, 0)
    assert rig.through(AMES) == [date(2026, 6, 29)]  # as the night before
    assert list(rig.rain(AMES)) == [3.0] * 25


def test_the_night_after_a_fault_brings_what_was_missed(make_rig):
    rig = make_rig()
    rig.server.faults.append("html")
    rig.night(SECOND, AMES)

    assert rig.night(date(2026, 7, 4), AMES).failed == {}
    assert rig.through(AMES) == [date(2026, 7, 1)]


@pytest.mark.parametrize("fault", ["500", "429"])
def test_trouble_that_passes_is_not_even_told(make_rig, fault):
    rig = make_rig(retries=4)
    rig.server.faults.extend([fault, fault])

    assert rig.night(SECOND, AMES).failed == {}
    assert rig.through(AMES) == [date(2026, 6, 30)]


def test_a_cell_whose_first_asking_fails_is_asked_for_its_whole_season_the_next_night(make_rig):
    rig = make_rig()
    new = GRID.snap(43.5, -93.62)
    rig.server.faults.append("truncated")

    failed = rig.night(SECOND, new)
    came = rig.night(date(2026, 7, 4), new)

    assert set(failed.failed) == {new.key}
    assert (rig.server.queries[-1]["start"], came.failed) == ("20260401", {})


def test_a_disk_that_is_full_is_told_and_the_other_cells_go_on(make_rig, monkeypatch):
    rig = make_rig()
    keep = AnswerShelf.keep

    def full(shelf, block):
        if block.cells == (AMES,):
            raise OSError(28, "No space left on device")
        return keep(shelf, block)

    monkeypatch.setattr(AnswerShelf, "keep", full)
    found = rig.night(SECOND, AMES, NORTH)

    assert set(found.failed) == {AMES.key}
    why = "could not be stored (OSError: [Errno 28] No space left on device)"
    assert why in found.failed[AMES.key]
    assert rig.through(NORTH) == [date(2026, 6, 30)]
    assert not np.isnan(rig.rain(AMES)).any()
