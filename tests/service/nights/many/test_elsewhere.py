"""A night that another worker records while it is being computed is not recorded again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from rootbound_service.nightly import run_night
from rootbound_service.records import DigRecord
from rootbound_service.store.runs import run_of
from rootbound_service.sweep.executors import InProcess
from rootbound_service.sweep.run import Cancelled
from rootbound_service.wiring.plant import plant_of
from service.nights.rig import DRY, SOUTH, YEAR, a_field, a_rig

NIGHT = date(YEAR, 7, 8)
USUAL, SWEPT = {}, {"ROOTBOUND_SWEEP_FROM_FIELDS": "0", "ROOTBOUND_SWEEP_WORKERS": "1"}


def stored(rig):
    with rig.service.engine.connect() as conn:
        run = run_of(conn, NIGHT)
    return run, rig.rows("Field 1"), rig.notes()


@pytest.mark.parametrize("settings", [USUAL, SWEPT], ids=["usual", "swept"])
def test_who_comes_too_late_leaves_the_night_as_it_is(tmp_path, settings):
    with a_rig(tmp_path, DRY, **settings) as rig:
        digs = (DigRecord(date(YEAR, 5, 28), 3),)
        rig.enrol(a_field("Field 1", SOUTH, digs=digs), a_field("Field 2", SOUTH, digs=digs))
        rig.bring(NIGHT)
        rig.at(NIGHT)
        parts, other = rig.service.parts, []

        def plant():
            return replace(plant_of(parts), executor=InProcess())

        def meanwhile(done, of):
            if not other:
                other.append((done, of))
                run_night(parts, NIGHT)
                other.append(stored(rig))

        with pytest.raises(Cancelled, match="recorded by somebody else"):
            run_night(parts, NIGHT, meanwhile, plant=plant if settings else None)

        assert other[1][1]
        assert stored(rig) == other[1]


def test_a_night_run_again_is_recorded_again(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Field 1", SOUTH))
        rig.night(NIGHT)
        rig.clock.set(rig.clock.now() + timedelta(hours=2))
        rig.service.nightly(NIGHT)
        assert stored(rig)[0].finished_at == rig.clock.now()
