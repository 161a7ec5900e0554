"""Stored seasons are played again by the service's own nights, as they were lived."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.errors import RefusedInput
from rootbound_service.nights.compute import seed_of
from rootbound_service.nights.gather import gather
from rootbound_service.nights.seasons import season_of
from rootbound_service.records import DigRecord, ObservationRecord
from rootbound_service.replay.known import known_on
from rootbound_service.replay.play import play
from rootbound_service.replay.stored import play_stored, stored_fields
from rootbound_service.store.fields import find_field
from rootbound_service.store.observations import add_observation
from rootbound_service.store.schema import metadata
from service.nights.rig import DRY, YEAR, a_field, a_rig
from service.nights.test_evidence_whole import keep_forecast

NAME = "Long Acre"
FIRST, LAST = date(YEAR, 6, 20), date(YEAR, 7, 14)
AFTER = date(YEAR, 11, 1)


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    """A field lived from June to July with forecasts, a gauge, and a dig in the middle of it."""
    with a_rig(tmp_path_factory.mktemp("lived"), DRY) as made:
        # a field's number seeds its draws: under those of 1 two nights stand on a mark, to
        # either side of which estimated and measured radiation fall
        made.enrol(a_field("Next Year", planted=date(YEAR, 12, 1), digs=()))
        made.enrol(a_field(NAME, digs=()))
        with made.service.engine.begin() as conn:
            season_id = find_field(conn, NAME).season_id
            at = datetime(YEAR, 6, 20, 17, tzinfo=UTC)
            rain = ObservationRecord("rain", date(YEAR, 6, 20), 2.5, "Maren", at)
            add_observation(conn, season_id, rain)
        made.bring(FIRST)
        for step in range((LAST - FIRST).days + 1):
            night = FIRST + timedelta(days=step)
            if night == date(YEAR, 6, 25):
                made.dig(NAME, DigRecord(night, 3, plants=5, crossing=4, held=46))
            keep_forecast(made, night)
            made.night(night)
        made.bring(AFTER)
        yield made


def replayed(rig, today=AFTER):
    """The field's season, and how many nights could not be told."""
    parts = rig.service.parts
    records = stored_fields(parts, [NAME], None, today)
    ((played, unknown),) = play_stored(parts, records, today, lambda: None)
    return played, unknown


@pytest.fixture(scope="module")
def around(rig):
    """The season played again, and the rows of every table before it and after."""
    before = every_row(rig)
    return replayed(rig), before, every_row(rig)


@pytest.fixture(scope="module")
def again(around):
    return around[0]


def every_row(rig):
    """All that is stored, table by table."""
    with rig.service.engine.connect() as conn:
        return {
            name: sorted(map(repr, conn.execute(select(table))))
            for name, table in metadata.tables.items()
        }


def test_nights_have_the_rungs_they_had_when_they_were_lived(rig, again):
    played, unknown = again
    nights = {one.night: one for one in played.nights}
    rows = [row for row in rig.rows(NAME) if row.rung is not None]

    assert unknown == 0
    assert {0, 2, 3} <= {row.rung for row in rows}
    both = [
        ((row.rung, nights[row.night].told.rung), (row.free_rung, nights[row.night].free.rung))
        for row in rows
    ]
    # radiation comes days after the rest: a night of then made do with an estimate
    differ = [one for one in both if one[0][0] != one[0][1] or one[1][0] != one[1][1]]
    assert len(differ) <= 2, differ
    assert all(abs(lived - now) <= 1 for one in differ for lived, now in one)


def test_the_same_notes_would_have_gone_out(rig, again):
    played, _ = again
    sent = {note.night: note.to_rung for note in rig.notes() if note.to_rung is not None}
    told = {one.night: one.told.note for one in played.nights if one.told.note is not None}

    assert len(sent) >= 2
    assert {night: rung for night, rung in told.items() if night <= LAST} == sent


def test_chances_are_those_of_the_night(rig, again):
    nights = {one.night: one for one in again[0].nights}

    for row in rig.rows(NAME):
        if row.rung is not None:
            assert nights[row.night].told.chance_14 == pytest.approx(row.chance_14, abs=0.01)


def test_it_rests_on_the_forecasts_that_were_kept(rig, again, monkeypatch):
    monkeypatch.setattr(rig.service.parts.forecasts, "issues", lambda *_: [])

    without, _ = replayed(rig)

    assert without.nights != again[0].nights
    assert without.held == again[0].held


def test_a_dig_counts_from_its_night_on(again):
    dug_on = date(YEAR, 6, 25)

    assert [one.rated for one in again[0].nights] == [
        one.night >= dug_on for one in again[0].nights
    ]
    assert again[0].wall_class == 3


def test_nothing_is_stored(around):
    _, before, after = around

    assert sum(map(len, before.values())) > 30
    assert after == before


def test_a_season_that_is_not_over_is_played_to_today(rig):
    played, _ = replayed(rig, date(YEAR, 7, 10))

    assert played.nights[-1].night == date(YEAR, 7, 10)
    assert max(played.stages) == date(YEAR, 7, 9)
    assert played.nights[-1].stage != "R6"


def test_without_lived_nights_it_is_what_a_replay_from_files_says(rig, monkeypatch):
    """The ladder of both ways is the same: rung, raw rung, chances, water, days ahead."""
    monkeypatch.setattr(rig.service.parts.forecasts, "issues", lambda *_: [])
    rig.enrol(a_field("Unlived", digs=(DigRecord(date(YEAR, 5, 28), 2),)))
    parts = rig.service.parts
    (record,) = stored_fields(parts, ["Unlived"], None, AFTER)
    ((stored, _),) = play_stored(parts, [record], AFTER, lambda: None)

    found = gather(parts, record.planted + timedelta(days=190), pull=False, past=False)
    cell = found.cells[found.cell_of[record.id]]
    season = season_of(record, cell.elevation_m, AFTER)
    demand = cell.demand_of("maize")
    filed = play("Unlived", season, demand, seed_of(record))

    nights = {one.night: one for one in filed.nights}
    assert len(stored.nights) > 80
    assert len(nights) == len(stored.nights)
    for one in stored.nights:
        other = nights[one.night]
        for twin in ("free", "held"):
            ours, theirs = one.twin(twin), other.twin(twin)
            assert (ours.raw_rung, ours.chance_14, ours.chance_7, ours.water_mm) == (
                theirs.raw_rung, theirs.chance_14, theirs.chance_7, theirs.water_mm,
            )  # fmt: skip
        assert (one.stage, one.reach, one.members) == (other.stage, other.reach, other.members)
        assert (one.held.rung, one.free.rung) == (other.held.rung, other.free.rung)
    assert stored.held.onset == filed.held.onset
    assert stored.free.onset == filed.free.onset


def test_known_on_goes_by_the_row_before_where_a_night_has_none(rig):
    rows = rig.rows(NAME)[:3]
    last = rows[-1]

    late = known_on(rows, last.night + timedelta(days=2))

    assert known_on(rows, last.night) == last.weather_through
    assert late == last.weather_through + timedelta(days=2)
    assert known_on(rows, rows[0].night - timedelta(days=1)) is None
    assert known_on([], last.night) is None


def test_an_unknown_field_is_refused_with_those_near_it(rig):
    with pytest.raises(RefusedInput, match=NAME):
        stored_fields(rig.service.parts, ["Long Acer"], None, AFTER)


def test_a_year_without_a_season_is_refused(rig):
    with pytest.raises(RefusedInput, match="no season of 2019"):
        stored_fields(rig.service.parts, [NAME], 2019, AFTER)


@pytest.fixture
def run(rig, tmp_path, monkeypatch):
    """The command on the service that was lived."""
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))

    @contextmanager
    def opener(settings, clock):
        yield rig.service

    def go(*args):
        words = ["replay", "--stored", *map(str, args), "--out", str(tmp_path / "out")]
        return CliRunner().invoke(app, words, obj=Session(clock=rig.clock, opener=opener))

    return go


def test_the_command_writes_tables_and_report_of_the_store(run, rig, tmp_path):
    rig.at(date(YEAR, 7, 12))
    done = run(NAME)

    assert done.exit_code == 0, done.output
    assert "Wall class 3: 1 season" in done.stdout
    report = (tmp_path / "out" / "report.html").read_text("utf-8")
    assert "from the service's own store" in report.replace("&#39;", "'")
    assert "what came later is not known" in report
    assert (tmp_path / "out" / "nights.csv").exists()


def test_weather_of_a_file_does_not_go_with_the_store(run):
    done = run("--weather", "w.csv")

    assert done.exit_code == 1
    assert "--weather: does not go with --stored; leave it out" in done.stderr
