"""Nights with every third answer broken: none is lost, nothing false is used, asking ends.

The long season is for a person to run: ``season_of_faults.py`` beside this.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from faults.season_of_faults import (
    FIRST,
    HOURS,
    KINDS,
    LEVEL_C,
    PATIENCE,
    PLACES,
    enrol,
    live,
)
from faults.season_report import told_of, total
from loopback.climate import ClimatePlay
from loopback.faults import Chaos
from loopback.public_server import PublicServer
from rootbound_service.clock import SetClock
from rootbound_service.settings import load_settings
from rootbound_service.wiring import open_service
from rootbound_service.worker.weather_ticks import past_tick

NIGHTS, YEARS = 3, 1
ATTEMPTS = 1 + PATIENCE.retries
GRIDMET = 7 * 3 * 2  # variables; attributes, length and numbers of each; all that once more
POWER, NWS, SOIL = 2, 3, 4
MOST_A_RUN = ATTEMPTS * (len(PLACES) * (GRIDMET + POWER + NWS) + SOIL)
"""What the code can ask in one run of a night, had every place a request of its own and every
answer to be asked for again as often as patience allows."""


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    """A few nights of chance, the last of them with an order."""
    folder = tmp_path_factory.mktemp("season")
    return live(folder, NIGHTS, Chaos(1 / 3, 3, KINDS), YEARS, {NIGHTS: "revised"})


def test_no_night_is_lost(season):
    assert season.finished == [FIRST + timedelta(days=i) for i in range(NIGHTS)]


def test_faults_of_most_kinds_were_met(season):
    assert sum(season.faults.values()) - season.faults[""] > 100
    assert len(season.faults) > 15


def test_every_value_that_a_night_used_was_told_for_that_place_and_day(season):
    assert sum(total(run.how for run in season.runs).values()) > 10_000
    assert [one for run in season.runs for one in run.strange] == []
    assert total(run.wrong for run in season.runs) == {}
    assert season.past_wrong.total() == 0


def test_a_stand_in_is_brought_to_level(season):
    assert total(run.how for run in season.runs)["OTHER_SOURCE"] > 0
    assert max(run.off_c for run in season.runs) < LEVEL_C


def test_requests_of_a_night_are_bounded(season):
    assert max(season.nightly_requests) <= MOST_A_RUN
    assert max(season.nightly_requests) > len(PLACES)


def test_revisions_are_told_on_the_night_that_learned_of_them(season):
    last = FIRST + timedelta(days=NIGHTS - 1)
    assert season.revisions[last] > 100
    assert [day for day in season.revisions if not told_of(season, day)] == []
    told = " ".join(season.runs[-1].told + season.runs[-2].told)
    assert "gridMET revised" in told


@pytest.fixture(scope="module")
def ordered(tmp_path_factory):
    """Three nights: the preferred source has no number, is well, has all in other units."""
    faults = {1: "all_fill", 3: "hidden_wrong_units"}
    return live(tmp_path_factory.mktemp("ordered"), 3, None, 1, faults)


def test_after_one_night_without_a_number_the_preferred_source_serves_its_places_again(ordered):
    assert ordered.runs[0].elsewhere > 1
    assert ordered.runs[1].elsewhere == 0
    assert ordered.runs[1].how["OBSERVED"] > 0


def test_numbers_in_hidden_wrong_units_are_kept_out_and_told(ordered):
    told = " ".join(ordered.runs[-1].told)

    assert ordered.hidden["gridmet"] >= 7
    assert total(run.wrong for run in ordered.runs) == {}
    assert ordered.runs[-1].how["OTHER_SOURCE"] > 1000
    assert "on another scale" in told
    assert ordered.unknown[FIRST + timedelta(days=2)] == 0


def test_a_source_that_is_down_is_asked_for_past_years_no_more_than_once_an_hour(tmp_path):
    at = datetime.combine(FIRST, HOURS[0], UTC)
    with PublicServer(ClimatePlay(), FIRST) as sky:
        clock = SetClock(at)
        env = {"ROOTBOUND_DATA_DIR": str(tmp_path), "ROOTBOUND_HISTORY_YEARS": "2"} | sky.env
        mail = {"ROOTBOUND_SMTP_HOST": "127.0.0.1", "ROOTBOUND_MAIL_FROM": "a@rootbound.example"}
        with open_service(load_settings(env | mail), clock, PATIENCE) as service:
            enrol(service)
            service.nightly(FIRST, past=False)
            sky.faults["gridmet"].extend(["html"] * 999)
            counts = []
            for minute in (2, 4, 6, 28, 32):
                before = len(sky.requests)
                clock.set(at + timedelta(minutes=minute))
                assert past_tick(service) == len(PLACES)
                counts.append(len(sky.requests) - before)
            sky.faults.clear()
            clock.set(at + timedelta(hours=2))
            assert past_tick(service) == 0

    asked, *resting, again = counts
    assert 0 < asked <= 2 * len(PLACES)
    assert resting == [0, 0, 0]
    assert again == asked
