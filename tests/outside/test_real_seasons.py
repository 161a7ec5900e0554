"""Two real Iowa seasons through the unchanged worker: it warns in 2012 and is quiet in 2014.

Outside sources: the daily weather of ``../shared/data/iowa`` (Marsden farm, public R package
maRsden); what the seasons were like: USDA NASS, US corn grain yield 123.1 bu/ac in 2012, the
lowest since 1995, and 171.0 in 2014, then a record.
"""

from __future__ import annotations

import pytest

from outside.real_seasons import CLASSES, WEATHER, lived_once, table

pytestmark = pytest.mark.skipif(
    not WEATHER.exists(), reason=f"there is no {WEATHER}: real weather is kept beside the project"
)


def test_in_the_drought_of_2012_both_fields_climb_in_order_and_the_held_roots_first():
    _, told = lived_once(2012)
    free, held = (told[wall_class] for wall_class in CLASSES)

    print(table(2012, told))
    for field in (free, held):
        assert field.worst >= 3
        climb = [field.first(rung) for rung in range(1, field.worst + 1)]
        assert climb == sorted(climb)
        assert list(field.notes.values()) == [1, 2, 3, 4][: len(field.notes)]
    for rung in (1, 2, 3):
        assert held.first(rung) <= free.first(rung)
    # a warning is early: days before the crop is short, and before silks are lost
    assert (held.first(3) - held.first(1)).days >= 5


def test_in_the_record_year_2014_the_field_with_free_roots_hears_nothing():
    _, told = lived_once(2014)
    free, held = (told[wall_class] for wall_class in CLASSES)

    print(table(2014, told))
    assert free.worst == 0
    assert free.notes == {}
    assert held.worst <= 2  # held roots may be drawn down, but not short, in a wet year
