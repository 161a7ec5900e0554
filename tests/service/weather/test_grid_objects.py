"""A weather store as objects: a change shows whole or not at all, to readers and later writers."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

import numpy as np
import pytest

from loopback.object_store import ObjectStore
from rootbound_service.errors import ServiceError
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.grid_head import HEAD
from rootbound_service.weather.grid_store import Span
from rootbound_service.weather.grid_tidy import clear_due, sweep
from rootbound_service.weather.objects import Objects, OvertakenError
from service.weather.grid_rig import AMES, END, NEXT, NIGHT, NORTH, START, block
from service.weather.objects_rig import LATE, Killed, die_after
from service.weather.place_rig import objects_in, opened


@pytest.fixture
def own():
    with ObjectStore(page=7) as made:
        yield made


@pytest.fixture
def place(own):
    return objects_in(own, "trial")


def test_a_writer_that_dies_at_any_put_leaves_the_store_as_it_was(own, place, monkeypatch):
    opened(place).write(block(), None, NIGHT)
    before = dict(own.objects)
    newer = block(first=5.0, start=date(2027, 1, 1), cells=(NORTH, AMES))
    with monkeypatch.context() as patched:
        left = die_after(10_000, patched)
        opened(place).write(newer, None, NEXT)
    many = 10_000 - left[0]
    assert many > 15

    for puts in range(many):
        own.objects = dict(before)
        with monkeypatch.context() as patched:
            die_after(puts, patched)
            with pytest.raises(Killed):
                opened(place).write(newer, None, NEXT)
        told = (
            own.objects["trial/weather/made_up/head.json"]
            != before["trial/weather/made_up/head.json"]
        )
        assert told == (puts == many - 1)  # the last put lists what may be cleared: all is told
        if not told:
            assert opened(place).cells() == (AMES.key,)
            assert opened(place).spans((AMES, NORTH)) == [Span(START, END), Span(None, None)]

        opened(place).write(newer, None, LATE)
        days = opened(place).read((NORTH, AMES), newer.start, newer.end)
        assert (days.values == newer.values).all()
        assert (opened(place).read((AMES,), START, END).values == block().values).all()


def test_a_store_that_was_never_finished_is_not_there(own, place, monkeypatch):
    for puts in range(12):
        own.objects.clear()
        with monkeypatch.context() as patched:
            die_after(puts, patched)
            with pytest.raises(Killed):
                opened(place).write(block(), None, NIGHT)

        assert opened(place).cells() == ()
        assert np.isnan(opened(place).read((AMES,), START, END).values).all()
        opened(place).write(block(), None, NIGHT)
        assert (opened(place).read((AMES,), START, END).values == block().values).all()


def test_nothing_of_a_change_is_seen_before_its_last_step(place, monkeypatch):
    opened(place).write(block(), None, NIGHT)
    reader, real, seen = opened(place), Objects.swap, []

    def looked(self, *args):
        seen.append(reader.read((AMES, NORTH), START, END).values)
        seen.append(len(reader.revisions.of()))
        return real(self, *args)

    monkeypatch.setattr(Objects, "swap", looked)
    opened(place).write(block(first=3.0, cells=(AMES, NORTH)), None, NEXT)

    assert (seen[0][:, :1] == block().values).all()
    assert np.isnan(seen[0][:, 1]).all()
    assert seen[1] == 0
    assert (reader.read((AMES,), START, END).values == block(first=3.0).values).all()
    assert len(reader.revisions.of()) == 30


def test_a_reader_beside_a_writer_never_sees_a_mixture(place):
    cells = [Cell("made_up", 1, i, 40.0, -90.0) for i in range(600)]  # three chunks
    begin, days = date(2025, 12, 30), 5
    opened(place).write(block(first=0.0, start=begin, days=days, cells=cells), None, NIGHT)
    shape = block(first=0.0, days=days, cells=cells).values
    writer, reader, done = opened(place), opened(place), []

    def write():
        for turn in range(1, 9):
            night = NIGHT + timedelta(days=turn)
            writer.write(block(turn * 10.0, begin, days, cells), None, night)
        done.append(True)

    seen = set()
    with ThreadPoolExecutor(1) as pool:
        ended = pool.submit(write)
        while not done and not ended.done():
            found = reader.read(cells, begin, begin + timedelta(days=days - 1))
            apart = np.round(found.values - shape, 4)
            assert (apart == apart[0, 0, 0]).all()
            nights = set((found.issued - found.issued[0, 0, 0]).ravel())
            assert nights == {0}
            seen.add(float(apart[0, 0, 0]))
        ended.result()
    assert len(seen) > 1


def test_a_writer_that_was_overtaken_begins_again_on_what_the_other_wrote(place, monkeypatch):
    opened(place).write(block(), None, NIGHT)
    real, first = Objects.swap, [True]

    def late(self, *args):
        if first.pop() if first else False:
            opened(place).write(block(first=5.0, cells=(NORTH,)), None, NIGHT)
        return real(self, *args)

    monkeypatch.setattr(Objects, "swap", late)
    done = opened(place).write(block(first=1.0), None, NEXT)

    assert done.revised == 30
    days = opened(place).read((AMES, NORTH), START, END)
    assert list(days.values[0, :, 0]) == [1.0, 5.0]
    assert len(opened(place).revisions.of()) == 30  # the first try left none behind


def test_a_writer_that_is_always_overtaken_says_so(place, monkeypatch):
    def never(self, name, *_):
        raise OvertakenError(f"{self.url}/{name}: somebody else has written meanwhile; try again")

    monkeypatch.setattr(Objects, "swap", never)

    with pytest.raises(ServiceError, match="somebody else has written meanwhile; try again"):
        opened(place).write(block(), None, NIGHT)


def test_a_head_that_was_put_while_its_answer_was_lost_counts(own, place, monkeypatch):
    opened(place).write(block(), None, NIGHT)
    real = Objects.swap

    def lost(self, *args):
        own.faults.append("lost")
        return real(self, *args)

    monkeypatch.setattr(Objects, "swap", lost)
    done = opened(place).write(block(first=1.0), None, NEXT)

    assert done.revised == 30
    assert len(opened(place).revisions.of()) == 30


def test_a_store_that_is_busy_for_a_moment_is_asked_again(own, place):
    own.faults.append(503)
    opened(place).write(block(), None, NIGHT)

    assert opened(place).cells() == (AMES.key,)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"{", "cannot be read"),
        (b"[]", "cannot be read"),
        (b'{"form":1}', "cannot be read"),
        (b'{"form":2,"version":1,"indexes":{}}', "use the newer program"),
    ],
)
def test_a_head_that_is_not_ours_is_named_and_left_alone(own, place, content, said):
    opened(place).write(block(), None, NIGHT)
    place.under("weather/made_up").put(HEAD, content)

    with pytest.raises(
        ServiceError, match=rf"s3://weather/trial/weather/made_up/head.json: .*{said}"
    ):
        opened(place).write(block(first=1.0), None, NEXT)
    assert own.objects["trial/weather/made_up/head.json"].content == content


def test_an_earlier_head_put_back_brings_the_store_back_to_it(own, place):
    opened(place).write(block(), None, NIGHT)
    head = own.objects["trial/weather/made_up/head.json"]
    opened(place).write(block(first=1.0), None, NEXT)
    own.objects["trial/weather/made_up/head.json"] = head

    assert (opened(place).read((AMES,), START, END).values == block().values).all()
    own.later(2.0)
    opened(place).write(block(first=2.0), None, LATE)
    own.later(2.0)
    opened(place).write(block(first=3.0), None, LATE)
    clear_due(place.under("weather/made_up"))
    sweep(place.under("weather/made_up"))
    assert (opened(place).read((AMES,), START, END).values == block(first=3.0).values).all()


def test_a_copy_that_begins_with_the_head_is_whole_though_writers_go_on(own, place):
    opened(place).write(block(), None, NIGHT)
    copied = {"copy/" + HEAD: own.objects["trial/weather/made_up/head.json"]}
    opened(place).write(block(first=1.0, cells=(AMES, NORTH)), None, NEXT)
    for name, kept in own.objects.items():
        copied.setdefault(name.replace("trial/weather/made_up", "copy"), kept)
    copied = {name.replace("copy/", "copy/weather/made_up/", 1): o for name, o in copied.items()}
    own.objects |= copied

    there = opened(objects_in(own, "copy"))
    assert there.cells() == (AMES.key,)
    assert (there.read((AMES,), START, END).values == block().values).all()
