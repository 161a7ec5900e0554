"""The demo's fields in the demo's weather: a night on objects says what it says on a folder."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import text

from demo.scenario import enrol_fields
from loopback.object_store import ObjectStore
from rootbound_service.worker.weather_ticks import past_tick
from service.nights.public_rig import a_public_rig

NIGHT = date(2026, 7, 7)
HELD = "select * from risk order by season_id, night"


def a_night(folder, **changes):
    """Past years and one night; every stored row."""
    with a_public_rig(folder, NIGHT, **changes) as rig:
        enrol_fields(rig.service, NIGHT)
        rig.at(NIGHT)
        while past_tick(rig.service):
            pass
        rig.night(NIGHT)
        with rig.service.engine.connect() as conn:
            return [dict(row) for row in conn.execute(text(HELD)).mappings()]


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    folder, other = (tmp_path_factory.mktemp(name) for name in ("folder", "objects"))
    with ObjectStore() as bucket, pytest.MonkeyPatch.context() as patched:
        for name, value in bucket.env.items():
            patched.setenv(name, value)
        plain = a_night(folder)
        far = a_night(other, ROOTBOUND_WEATHER_STORE=f"{bucket.url}/county")
        yield plain, far, folder, other, bucket


def test_every_risk_row_is_the_same(both):
    plain, far, *_ = both

    assert len(plain) > 5
    assert {row["rung"] for row in plain} != {"unknown"}
    assert plain == far


def test_weather_and_forecasts_lie_in_the_bucket_and_not_in_the_data_folder(both):
    *_, folder, other, bucket = both
    kept = {"/".join(name.split("/")[:3]) for name in bucket.objects}
    arrays = {one.name.removesuffix(".zarr") for one in (folder / "weather").glob("*.zarr")}

    assert arrays
    assert {name.rpartition("/")[2] for name in kept if "/weather/" in name} == arrays
    assert {name for name in kept if "/forecasts/" in name} == {"county/forecasts/issues"}
    assert not (other / "weather").exists()
    assert not (other / "forecasts" / "issues").exists()
