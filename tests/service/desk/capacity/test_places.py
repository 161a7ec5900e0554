"""How many cells fields lie in, against areas that were published."""

from __future__ import annotations

import pytest

from rootbound_service.desk.capacity.places import UPTAKE, counties, lying

IOWA_CORN_HA = 13.1e6 * 0.404686
"""USDA NASS, Prospective Plantings, March 2023: 13.1 million acres; NIST SP 811: the acre."""
IOWA_LAND_HA = 55_857 * 258.999
"""US Census Bureau, state area measurements: 55,857 square miles of land."""
US_CORN_HA = 94.1e6 * 0.404686
"""USDA NASS, Acreage, June 2023: 94.1 million acres."""


def test_iowa_is_as_dense_as_its_acres_say():
    iowa = counties()[0]
    cell_ha = IOWA_LAND_HA * (iowa.fields / iowa.cells) * 30.0 / IOWA_CORN_HA

    # 1/24 of a degree at 41 degrees north: 4.63 km by 3.50 km
    assert cell_ha == pytest.approx(463.3 * 3.497, rel=0.02)


def test_all_fields_of_the_united_states_have_its_maize():
    area = sum(one.fields for one in counties() if one.part == "united_states") * 30.0

    assert area == pytest.approx(US_CORN_HA, rel=0.01)


def test_a_cell_is_asked_once_however_many_fields_lie_in_it():
    sizes = [10**n for n in range(1, 9)]
    cells = [lying(size).every for size in sizes]

    assert all(few <= many for few, many in zip(cells, sizes, strict=True))
    assert cells == sorted(cells)
    assert cells[-1] < sum(one.cells for one in counties())


def test_every_field_lies_somewhere():
    for fields in (1, 999, 10**6, 10**8, 2 * 10**8):
        assert sum(lying(fields).fields.values()) == pytest.approx(fields, abs=3)


def test_the_densest_counties_come_first():
    few = lying(100_000)
    dense = counties()[0]

    assert set(few.cells) == {"gridmet"}
    assert few.cells["gridmet"] == pytest.approx(
        100_000 * dense.cells / dense.fields / UPTAKE, rel=0.01
    )


def test_an_operator_who_knows_the_cells_is_believed():
    assert lying(1_000_000, 50_000).cells == {"gridmet": 50_000}
