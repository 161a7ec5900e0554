"""The evidence of a note computes the note again, to the digit, from what it holds alone."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date

import numpy as np
import pytest

from rootbound_rules.crop.table import heat_limits
from rootbound_rules.risk.assess import assess
from rootbound_rules.risk.ladder import Memory, decide
from rootbound_rules.season.cache import rules_fingerprint
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.kernel import demand_loop
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason, Soil
from rootbound_service.nights.evidence import weather_fingerprint
from rootbound_service.weather.day import QUANTITY_NAMES, Block, Status
from service.nights.rig import DRY, HISTORY_YEARS, YEAR, Rig, a_field, a_rig

FIRST, LAST = date(YEAR, 6, 30), date(YEAR, 7, 8)


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("evidence"), DRY) as made:
        made.enrol(a_field("Long Acre"))
        made.nights(FIRST, LAST)
        yield made


def season_from(told):
    """The season as the evidence holds it."""
    days = [told["planted"], *(dig["dug_on"] for dig in told["digs"])]
    planted, *dug = (date.fromisoformat(day) for day in days)
    digs = tuple(Dig(**dig | {"dug_on": on}) for dig, on in zip(told["digs"], dug, strict=True))
    return FieldSeason(**told | {"soil": Soil(**told["soil"]), "digs": digs, "planted": planted})


def days_from(rig: Rig, evidence) -> DailyWeather:
    """Past years of the store, with this season's days replaced by those of the evidence."""
    night = date.fromisoformat(evidence["night"])
    begin, first = date(night.year - HISTORY_YEARS, 1, 1), date.fromisoformat(evidence["first_day"])
    feed, cell = cell_of(rig, evidence)
    before = feed.store.read([cell], begin, first).usable()[:, 0, :-1]
    series = {
        name: np.array(
            [*before[QUANTITY_NAMES.index(name)], *(np.nan if x is None else x for x in days)]
        )
        for name, days in evidence["weather"].items()
    }
    return DailyWeather(begin, **series)


def cell_of(rig: Rig, evidence):
    """The feed and the cell that the evidence names."""
    feed = rig.service.parts.feeds[evidence["cell"].partition(":")[0]]
    return feed, feed.source.grid.from_key(evidence["cell"])


def outlook_from(rig: Rig, evidence):
    """The outlook computed again."""
    weather = days_from(rig, evidence)
    centre = cell_of(rig, evidence)[1].centre
    season = season_from(evidence["season"])
    limits, elevation = heat_limits(season.crop), evidence["cell_elevation_m"]
    demand = cell_demand(weather, centre[0], elevation, *limits, demand_loop)
    through = date.fromisoformat(evidence["known_through"])
    return look_out(season, demand, through, evidence["seed"], evidence["years"])


def test_every_note_has_evidence_that_gives_its_figures_and_its_rung_again(rig):
    notes = rig.notes()
    assert [note.to_rung for note in notes] == [1, 2, 3]
    for note in notes:
        evidence = note.evidence
        found = assess(outlook_from(rig, evidence), note.night)
        told = evidence["before"]
        kept = ("nights_below", "said_rung", "nights_under_said")
        memory = Memory(told["rung"] or 0, *(told[name] for name in kept))
        decision = decide(found.held, memory)

        assert _same(asdict(found), evidence["assessment"])
        assert (decision.rung, str(decision.reason)) == (note.to_rung, note.reason)
        assert _same(asdict(decision), evidence["decision"])


def test_evidence_tells_when_rules_or_past_weather_are_no_longer_what_they_were(rig):
    evidence = rig.notes()[0].evidence

    assert evidence["rules"] == rules_fingerprint()
    assert evidence["weather_fingerprint"] == weather_fingerprint(days_from(rig, evidence))


def test_a_later_correction_of_the_store_does_not_touch_the_evidence_of_this_season(rig):
    evidence = rig.notes()[0].evidence
    untouched = assess(outlook_from(rig, evidence), rig.notes()[0].night)
    (feed, cell), day = cell_of(rig, evidence), date.fromisoformat(evidence["first_day"])
    wet = np.full((1, 1, 60), 50.0)
    final = np.full((1, 60), Status.FINAL, np.uint8)
    feed.store.write(Block(feed.name, (cell,), day, ("rain_mm",), wet, final), None, LAST)

    again = assess(outlook_from(rig, evidence), rig.notes()[0].night)

    assert again == untouched


def test_the_row_of_the_night_shows_what_the_evidence_holds(rig):
    note = rig.notes()[-1]
    row = next(row for row in rig.rows("Long Acre") if row.night == note.night)
    told = note.evidence["assessment"]

    assert row.water_in_reach_mm == told["water_in_reach_mm"]
    assert row.days_ahead_kind == told["ahead"]["kind"]
    assert (row.chance_7, row.chance_14) == (told["held"]["chance_7"], told["held"]["chance_14"])


def _same(computed, told) -> bool:
    """Whether values are those that went through JSON."""
    if isinstance(computed, dict):
        return set(computed) == set(told) and all(_same(computed[k], told[k]) for k in computed)
    return computed == told
