"""Fields of several crops in one weather cell: each crop's heat units are its own."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.nightly import decide_all
from rootbound_service.nights.gather import gather
from service.nights.rig import DRY, SPRING, SUMMER, a_field, a_rig

HOT_DAY = date(2026, 6, 27)
"""33 and 19 degC: 91.4 degF counts in full for sorghum, up to 86 for maize."""


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, DRY) as made:
        yield made


def enrol(rig, *crops: str) -> None:
    rig.enrol(*(a_field(crop, crop=crop, black_layer_gdd_f=None) for crop in crops))


def test_a_cell_is_worked_out_once_for_crops_that_share_their_limits(rig) -> None:
    enrol(rig, "maize", "soybean")
    rig.at(SPRING)

    (cell,) = gather(rig.service.parts, SPRING).cells.values()

    assert list(cell.demands) == [(50.0, 86.0)]
    assert cell.demand_of("maize") is cell.demand_of("soybean")


def test_a_hot_day_counts_by_the_limits_of_the_crop(rig) -> None:
    enrol(rig, "maize", "sorghum")
    rig.at(SUMMER)

    (cell,) = gather(rig.service.parts, SUMMER).cells.values()

    maize, sorghum = cell.demand_of("maize"), cell.demand_of("sorghum")
    hot = maize.index(HOT_DAY)
    assert float(maize.gdd_f[hot]) == pytest.approx((86.0 + 66.2) / 2 - 50.0)
    assert float(sorghum.gdd_f[hot]) == pytest.approx((91.4 + 66.2) / 2 - 50.0)
    assert (maize.et0_mm == sorghum.et0_mm).all()


def test_each_crop_is_watched_at_its_own_stage(rig) -> None:
    enrol(rig, "maize", "soybean", "sorghum")
    rig.at(SUMMER)

    decided = decide_all(gather(rig.service.parts, SUMMER), stale_days=10)

    told = {one.computed.field.crop: (one.risk.status, one.risk.stage) for one in decided}
    assert told == {
        "maize": ("watched", "VT"),
        "soybean": ("watched", "R3"),
        "sorghum": ("watched", "boot"),
    }


def test_a_crop_nobody_has_a_table_for_leaves_its_neighbours_alone(rig) -> None:
    enrol(rig, "maize", "oats")
    rig.at(SUMMER)

    decided = decide_all(gather(rig.service.parts, SUMMER), stale_days=10)

    told = {one.computed.field.crop: one for one in decided}
    assert told["maize"].risk.status == "watched"
    assert told["oats"].risk.status == "unknown"
    assert "no table for crop 'oats'" in str(told["oats"].computed.failure)
