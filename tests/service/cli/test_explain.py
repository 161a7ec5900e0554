"""``rootbound explain`` and ``rootbound notes``, on nights that a whole service ran."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date

import pytest
import typer
from sqlalchemy import delete, insert, update
from typer.testing import CliRunner

from rootbound_service.cli import explain
from rootbound_service.cli.errors import PlainGroup
from rootbound_service.cli.session import Session
from rootbound_service.store.notes import find_note
from rootbound_service.store.schema import kept_weather
from rootbound_service.store.schema import note as note_table
from service.nights.rig import DRY, YEAR, a_field, a_rig

FIRST, LAST = date(YEAR, 6, 30), date(YEAR, 7, 6)


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("explain"), DRY) as made:
        made.enrol(a_field("Long Acre"), a_field("Undug", digs=()))
        made.nights(FIRST, LAST)
        yield made


@pytest.fixture
def run(rig, monkeypatch, tmp_path):
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "80")
    app = typer.Typer(cls=PlainGroup, pretty_exceptions_enable=False, rich_markup_mode=None)
    app.command("explain")(explain.explain)
    app.command("notes")(explain.notes)

    @contextmanager
    def opener(_settings, _clock) -> Iterator[object]:
        yield rig.service

    def go(*args: object):
        session = Session(clock=rig.clock, opener=opener)
        return CliRunner().invoke(app, [str(arg) for arg in args], obj=session)

    return go


@contextmanager
def changed(rig, number: int, change) -> Iterator[None]:
    """A note whose evidence somebody changed, for a while."""
    with rig.service.engine.begin() as conn:
        before = find_note(conn, number).evidence
        put = update(note_table).where(note_table.c.id == number)
        conn.execute(put.values(evidence=change(json.loads(json.dumps(before)))))
    yield
    with rig.service.engine.begin() as conn:
        conn.execute(put.values(evidence=before))


def test_a_note_is_computed_again_and_told_step_by_step(rig, run):
    for note in rig.notes():
        told = run("explain", note.id)

        assert told.exit_code == 0, told.output
        assert "Same to the digit:" in told.output
        titles = [line.split(". ", 1)[1] for line in told.output.splitlines() if line[:1].isdigit()]
        assert titles[:3] == [
            "What was known that night",
            "Heat units and stage",
            "What the air asks for",
        ]
        assert titles[-1] in {"The ladder, and what was said before", "Rain to hold"}
        assert all(f"Eq. {number}" in told.output for number in (6, 66, 73, 82, 84))
        assert max(len(line) for line in told.output.splitlines()) <= 80


def test_the_figures_shown_are_those_of_the_night(rig, run):
    note = next(one for one in rig.notes() if one.evidence["status"] == "watched")
    told = run("explain", note.id, "--json")
    found = json.loads(told.output)
    kept = note.evidence["assessment"]

    steps = {step["title"]: step for step in found["steps"]}
    sums = {one["name"]: one["value"] for one in steps["Stress sums over the members"]["figures"]}
    assert sums["water in reach, held"] == kept["water_in_reach_mm"]
    chances = {row[0]: row[3] for row in steps["Chances against the needed share"]["table"]["rows"]}
    assert chances["2 tight"] == kept["held"]["chance_7"]
    assert found["same"]
    assert found["evidence"] == note.evidence


def test_a_changed_input_ends_with_3_and_names_what_differs(rig, run):
    def drier(told):
        told["weather"]["rain_mm"][174] = 90.0
        return told

    with changed(rig, rig.notes()[0].id, drier):
        told = run("explain", rig.notes()[0].id)

    assert told.exit_code == 3
    assert "Not the same:" in told.output
    assert "assessment.free_water_mm: kept" in told.output


def test_changed_rules_are_told_and_are_no_failure(rig, run):
    number = rig.notes()[0].id
    with changed(rig, number, lambda told: told | {"rules": "0123456789abcdef", "seed": 4}):
        told = run("explain", number)

    assert told.exit_code == 0
    assert "The rules have changed since: 0123456789abcdef then" in told.output
    assert "Differences are to be expected" in told.output.replace("\n", " ")


def test_a_note_of_an_earlier_version_is_refused_but_its_evidence_can_be_read(rig, run):
    number = rig.notes()[0].id
    with changed(rig, number, lambda told: {k: v for k, v in told.items() if k != "form"}):
        told, machine = run("explain", number), run("explain", number, "--json")

    assert told.exit_code == machine.exit_code == 1
    assert "rootbound: evidence: the note is of an earlier version" in told.output
    assert json.loads(machine.stdout)["evidence"]["seed"]


def test_lost_past_years_are_told_in_a_sentence(rig, run):
    with rig.service.engine.begin() as conn:
        kept = conn.execute(kept_weather.select()).mappings().all()
        conn.execute(delete(kept_weather))
    told = run("explain", rig.notes()[0].id)
    with rig.service.engine.begin() as conn:
        conn.execute(insert(kept_weather), [dict(row) for row in kept])

    assert told.exit_code == 1
    assert "restore the table kept_weather from a backup" in told.output


def test_notes_are_listed_with_their_numbers(rig, run):
    listed, own = run("notes"), run("notes", "undug")

    for note in rig.notes():
        assert any(line.startswith(f"{note.id} ") for line in listed.output.splitlines())
    assert "Long Acre" not in own.output
    assert "Undug" in own.output


def test_a_quiet_night_says_which_rule_kept_it_silent(rig, run):
    said = max(note.night for note in rig.notes())
    told = run("explain", "--field", "long acre", "--on", LAST)

    assert said < LAST
    assert "The rung did not rise above what was said" in told.output.replace("\n", " ")
    assert "Chances against the needed share" in told.output
    assert max(len(line) for line in told.output.splitlines()) <= 80


def test_a_night_that_was_not_run_says_so_and_a_night_with_a_note_names_it(rig, run):
    first = rig.notes()[0]
    name = "Long Acre" if rig.rows("Long Acre")[0].season_id == first.season_id else "Undug"

    assert "never run" in run("explain", "--field", name, "--on", "2026-06-02").output
    told = run("explain", "--field", name, "--on", first.night)
    assert f"There was a note: rootbound explain {first.id}." in told.output
    machine = run("explain", "--field", name, "--on", "2026-06-02", "--json")
    assert json.loads(machine.output)["rule"] == "never_run"


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("explain",), 2, "give a note, or --field and --on"),
        (("explain", "1", "--field", "Undug", "--on", "2026-07-01"), 2, "give a note, or"),
        (("explain", "--field", "Undug"), 2, "give a note, or --field and --on"),
        (("explain", "99"), 1, "there is no note 99; see rootbound notes"),
        (("explain", "--field", "Undug", "--on", "July"), 1, "'July' is no day; write it as"),
        (("explain", "--field", "Nowhere", "--on", "2026-07-01"), 1, "no field is called Nowhere"),
    ],
)
def test_a_command_written_wrongly_says_what_would_be_right(run, words, code, told):
    result = run(*words)

    assert result.exit_code == code
    assert told in result.output


def test_a_note_that_nothing_could_be_computed_for_says_why(rig, run):
    with rig.service.engine.connect() as conn:
        usual = find_note(conn, rig.notes()[0].id)
        told = {k: usual.evidence[k] for k in ("form", "rules", "made_with", "night", "before")}
        row = usual.evidence["row"] | {
            "status": "unknown",
            "reason": "weather_too_old",
            "rung": None,
        }
        lost = replace(usual, evidence=told | {"status": "unknown", "row": row, "said": {}})
    with changed(rig, usual.id, lambda _: lost.evidence):
        result = run("explain", usual.id)

    assert result.exit_code == 0
    assert "weather_too_old" in result.output
    assert "nothing to compute again" in result.output.replace("\n", " ")
