"""A weather store as objects of which a piece is spoiled or gone: it is said, and asked again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from loopback.object_store import Kept, ObjectStore
from rootbound_service.weather.grid_store import Span
from service.weather.grid_rig import AMES, END, NEXT, NIGHT, NORTH, START, block
from service.weather.mend_rig import GRID
from service.weather.place_rig import objects_in, opened

NOW = datetime(2026, 6, 7, 9, 30, tzinfo=UTC)
CELLS = (AMES, NORTH)


@pytest.fixture
def own():
    with ObjectStore(page=7) as made:
        yield made


@pytest.fixture
def place(own):
    return objects_in(own, "trial")


def harm(own, part, how):
    name = max(one for one in own.objects if part in one)
    if how == "gone":
        del own.objects[name]
    else:
        own.objects[name] = Kept(b"\x00" * 9, own.objects[name].at)


@pytest.mark.parametrize("how", ["spoiled", "gone"])
@pytest.mark.parametrize(
    ("part", "again"),
    [
        ("piece/value/c/0/0/43/", True),
        ("piece/seen/c/0/0/43/", True),
        ("piece/cell/c/0/", False),
        ("piece/asked_from/c/0/", True),
        ("piece/flag/zarr.json/", False),
        ("index/days-43/", True),
    ],
)
def test_a_piece_that_cannot_be_read_is_named_no_more(own, place, how, part, again):
    opened(place).write(block(cells=CELLS), None, NIGHT)
    harm(own, part, how)

    found = opened(place).mend(GRID, NOW)

    assert found
    assert found.again == again
    if again:
        assert sorted(found.cells) == [AMES.key, NORTH.key]
        assert opened(place).spans(CELLS)[0].asked_from is None
    assert not opened(place).mend(GRID, NOW + timedelta(days=1))
    opened(place).write(block(cells=CELLS), None, NEXT)
    days = opened(place).read(CELLS, START, END)
    assert np.array_equal(days.values, block(cells=CELLS).values)
    assert opened(place).spans(CELLS) == [Span(START, END)] * 2


@pytest.mark.parametrize("how", ["spoiled", "gone"])
def test_a_store_whose_facts_are_lost_begins_anew(own, place, how):
    opened(place).write(block(cells=CELLS), None, NIGHT)
    harm(own, "index/facts/", how)

    found = opened(place).mend(GRID, NOW)

    assert found.anew
    assert opened(place).spans(CELLS) == [Span(None, None)] * 2
    opened(place).write(block(cells=CELLS), None, NEXT)
    assert opened(place).spans(CELLS) == [Span(START, END)] * 2


def test_a_sound_store_gets_no_new_version(own, place):
    opened(place).write(block(cells=CELLS), None, NIGHT)
    before = dict(own.objects)

    assert not opened(place).mend(GRID, NOW)

    assert own.objects == before
