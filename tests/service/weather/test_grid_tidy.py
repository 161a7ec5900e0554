"""What no version names any more is cleared away, and never what one still reads."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from loopback.object_store import ObjectStore
from rootbound_service.errors import ServiceError
from rootbound_service.weather.grid_head import HEAD
from rootbound_service.weather.grid_tidy import clear_due, sweep
from rootbound_service.weather.objects import Objects
from service.weather.grid_rig import AMES, END, NEXT, NIGHT, NORTH, START, block
from service.weather.objects_rig import LATE, Killed, die_after, pieces_of
from service.weather.place_rig import objects_in, opened


@pytest.fixture
def own():
    with ObjectStore(page=7) as made:
        yield made


@pytest.fixture
def place(own):
    return objects_in(own, "trial")


def test_what_was_replaced_goes_an_hour_later_and_not_before(own, place):
    opened(place).write(block(), None, NIGHT)
    opened(place).write(block(first=1.0), None, NEXT)
    own.later(0.9)
    opened(place).write(block(first=2.0), None, LATE)
    here = place.under("weather/made_up")
    assert clear_due(here) == 0
    own.later(0.2)
    opened(place).write(block(first=3.0), None, LATE)

    assert clear_due(here) > 5
    assert clear_due(here) == 0
    assert (opened(place).read((AMES,), START, END).values == block(first=3.0).values).all()
    past = opened(place).read_as_of((AMES,), START, END, NIGHT)
    assert (past.values == block().values).all()


def test_a_reader_whose_version_was_cleared_away_reads_the_newest(own, place, monkeypatch):
    monkeypatch.setattr("rootbound_service.weather.grid_pieces.MOST_BYTES", 0)
    writer, reader = opened(place), opened(place)
    writer.write(block(), None, NIGHT)
    days = reader.read((AMES,), START, END)
    writer.write(block(first=1.0), None, NEXT)
    own.later(2.0)
    writer.write(block(first=2.0), None, LATE)
    clear_due(place.under("weather/made_up"))

    real, cut = Objects.get, []

    def before(self, name, unless=""):
        found = real(self, name, unless)
        if name == HEAD and not cut and found is not None:
            cut.append(True)
            writer.write(block(first=4.0), None, date(2026, 6, 9))
            for gone in sorted(pieces_of(own)):
                if "/value/c/" in gone and "00000003-" in gone:
                    del own.objects[gone]
        return found

    assert (days.issued == (LATE - date(1981, 1, 1)).days).all()
    monkeypatch.setattr(Objects, "get", before)
    assert (reader.read((AMES,), START, END).values == block(first=4.0).values).all()
    assert cut


def test_a_piece_that_is_gone_for_good_is_an_error_and_no_missing_value(own, place):
    opened(place).write(block(), None, NIGHT)
    for name in [one for one in own.objects if "/piece/value/c/" in one]:
        del own.objects[name]

    with pytest.raises(ServiceError, match="is gone; look at the newest version"):
        opened(place).read((AMES,), START, END)


def test_the_sweep_takes_what_a_dead_writer_left_and_nothing_else(own, place, monkeypatch):
    opened(place).write(block(), None, NIGHT)
    with monkeypatch.context() as patched:
        die_after(6, patched)
        with pytest.raises(Killed):
            opened(place).write(block(first=9.0, cells=(NORTH,)), None, NEXT)
    left = {name for name in pieces_of(own) if "/00000002-" in name}
    assert left
    here = place.under("weather/made_up")
    assert sweep(here) == 0  # a writer of the next version may still be at it
    opened(place).write(block(first=1.0), None, LATE)
    before = pieces_of(own)

    assert sweep(here) == len(before - pieces_of(own)) > 0
    assert not left & pieces_of(own)
    assert sweep(here) == 0
    assert (opened(place).read((AMES,), START, END).values == block(first=1.0).values).all()


def test_the_store_clears_up_by_itself_now_and_then(own, place):
    store = opened(place)
    for turn in range(64):
        own.later(0.1)
        store.write(block(first=float(turn)), None, NIGHT + timedelta(days=turn))

    many = len([name for name in own.objects if "/piece/value/c/" in name])
    assert many < 20
    assert (store.read((AMES,), START, END).values == block(first=63.0).values).all()
