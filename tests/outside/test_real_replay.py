"""The drought of 2012 through the worker, and the same nights played again: the ladder is one.

Outside source: the daily weather of ``../shared/data/iowa`` (Marsden farm, public R package
maRsden). The stand-in for the weather service tells temperatures and rain three days late and
radiation six, as the real one does; a replay knows how late each night was, but has the
radiation that came since, so that a night or two may differ.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import pytest

from loopback.power_answers import MET_DAYS_LATE
from outside.real_seasons import ELEVATION_M, SMALL_HOURS, WEATHER, Told, a_service, lived_once
from rootbound_rules.season.values import Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture
from rootbound_service.replay.judge import judge
from rootbound_service.replay.runs import Asked, play_all
from rootbound_service.replay.stored import play_stored, stored_fields
from rootbound_service.replay.values import Played
from seasons.baselines import read_weather

pytestmark = pytest.mark.skipif(
    not WEATHER.exists(), reason=f"there is no {WEATHER}: real weather is kept beside the project"
)
FIRST, LAST, AFTER = date(2012, 7, 1), date(2012, 8, 8), date(2012, 10, 30)
NEAR = 2
"""Other draws, and radiation that the lived nights had to estimate, move a rung so far. [d]"""
LATE = 6
"""The ladder of nights that knew the day before runs ahead of nights that did not. [d]"""


@dataclass
class Both:
    """What was lived and what was played again, by wall class."""

    lived: dict[int, Told]
    again: dict[int, Played]


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """The season as ``test_real_seasons.py`` has it lived; of it the weeks of the drought."""
    whole, told = lived_once(2012)
    data = tmp_path_factory.mktemp("data") / "lived"
    shutil.copytree(whole, data)
    with a_service(2012, data) as (service, clock, _):
        clock.set(datetime.combine(AFTER, SMALL_HOURS, UTC))
        records = stored_fields(service.parts, [], None, LAST)
        found = [one for one, _ in play_stored(service.parts, records, LAST, lambda: None)]
    return Both(
        {wall_class: _weeks(one) for wall_class, one in told.items()},
        {one.wall_class: one for one in found},
    )


def _weeks(told):
    """What was told from the first to the last night that is compared."""
    rows = {night: row for night, row in told.rows.items() if FIRST <= night <= LAST}
    return Told(rows, {night: rung for night, rung in told.notes.items() if night <= LAST})


@pytest.mark.parametrize("wall_class", [0, 2])
def test_the_store_is_played_again_rung_by_rung(both, wall_class):
    rows = both.lived[wall_class].rows
    nights = {one.night: one for one in both.again[wall_class].nights}
    compared = [
        (night, row.rung, nights[night].held.rung, row.free_rung, nights[night].free.rung)
        for night, row in rows.items()
        if row.rung is not None
    ]

    assert len(compared) == (LAST - FIRST).days + 1
    assert max(row.rung for row in rows.values()) >= 3
    differ = [one for one in compared if one[1] != one[2] or one[3] != one[4]]
    # a rung that was missed on one night is missed until the ladder lets go of it
    nights_of = {one[0] for one in differ}
    begins = [one for one in differ if one[0] - timedelta(days=1) not in nights_of]
    assert len(begins) <= 2, differ
    assert len(differ) <= 8, differ
    assert all(abs(a - b) <= 1 and abs(c - d) <= 1 for _, a, b, c, d in differ)


@pytest.mark.parametrize("wall_class", [0, 2])
def test_the_same_notes_go_out_within_a_night(both, wall_class):
    told = [
        (one.night, one.held.note)
        for one in both.again[wall_class].nights
        if one.held.note is not None
    ]
    sent = list(both.lived[wall_class].notes.items())

    assert [rung for _, rung in told] == [rung for _, rung in sent] == [1, 2, 3]
    for (night, _), (lived, _) in zip(told, sent, strict=True):
        assert abs((night - lived).days) <= 1


@pytest.mark.parametrize("wall_class", [0, 2])
@pytest.mark.parametrize(
    ("late", "least", "most"), [(0, 0, LATE), (MET_DAYS_LATE - 1, -NEAR, NEAR)]
)
def test_a_replay_from_the_file_is_ahead_by_what_its_weather_is_early(
    both, wall_class, late, least, most
):
    soil = soil_from_texture("loam", organic_matter_pct=4.0, water_table_m=1.2)
    digs = (Dig(date(2012, 6, 1), wall_class),)
    field = FieldSeason(42.02, ELEVATION_M, date(2012, 5, 5), soil, row_spacing_cm=76.2, digs=digs)
    (played,) = play_all([Asked("Ames", field)], read_weather(), late=late)

    for rung, night in enumerate(judge(played, "held").first, 1):
        lived = both.lived[wall_class].first(rung)
        if lived is not None:
            assert least <= (lived - night).days <= most
