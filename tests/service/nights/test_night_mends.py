"""Stored weather spoiled between two nights: it is said, others go on, the next night is whole."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rootbound_service.worker.ticks import night_tick
from service.nights.rig import DRY, NORTH, OPERATOR, SUMMER, TOBIAS, a_field, a_rig

FIELDS = (a_field("Alder Flat"), a_field("North Bench", NORTH, grower=TOBIAS))
NEXT, THIRD = SUMMER + timedelta(days=1), SUMMER + timedelta(days=2)
CHUNK = (SUMMER - date(1981, 1, 1)).days // 384


def rows_of(rig):
    return {one.name: rig.rows(one.name) for one in FIELDS}


@pytest.fixture(scope="module")
def unharmed(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("unharmed"), DRY) as rig:
        rig.enrol(*FIELDS)
        rig.nights(SUMMER, THIRD)
        return rows_of(rig)


@pytest.mark.parametrize(
    "name", [f"value/c/0/0/{CHUNK}", f"flag/c/0/0/{CHUNK - 2}", "cell/c/0", "value/zarr.json"]
)
def test_a_night_mends_what_was_spoiled_since_the_last(tmp_path, name, unharmed, capsys):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(*FIELDS)
        rig.nights(SUMMER, SUMMER)
        path = tmp_path / "weather" / "nasa_power.zarr" / name
        path.write_bytes(path.read_bytes()[:20])

        rig.at(NEXT)
        second = night_tick(rig.service)
        third = rig.nights(THIRD, THIRD)[0]

        assert name in "; ".join(second.told)
        assert second.fields_ok == len(FIELDS)
        assert second.failures == third.told == ()
        rig.send()
        assert name in rig.text_to(OPERATOR)
        assert "weather_mended" in capsys.readouterr().out
        for field, own in rows_of(rig).items():
            assert own[-1] == unharmed[field][-1]
