"""Raw answers are kept once each, whole or not at all."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from rootbound_service.weather.answers import AnswerShelf, read_copy, write_whole
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, Block

CELL, NEXT = Cell("made_up", 264, 138, 42.0, -93.75), Cell("made_up", 265, 138, 42.5, -93.75)


@pytest.fixture
def shelf(tmp_path):
    return AnswerShelf(tmp_path / "answers" / "made_up")


def answer(
    raw=b'{"a":1}', fingerprint="f" * 64, start=date(2026, 7, 1), cells=(CELL,), suffix="json"
):
    values = np.zeros((6, len(cells), 5))
    marks = np.zeros((6, 5), np.uint8)
    return Block(
        "made_up",
        cells,
        start,
        QUANTITY_NAMES,
        values,
        marks,
        raw=raw,
        fingerprint=fingerprint,
        suffix=suffix,
    )


def test_an_answer_is_kept_as_it_came(shelf):
    path = shelf.keep(answer())

    assert path is not None
    assert path.name == "20260701-20260705-ffffffffffff.json.gz"
    assert path.parent.name == "264-138"
    assert read_copy(path) == b'{"a":1}'


def test_the_name_ends_as_the_answer_says(shelf):
    path = shelf.keep(answer(suffix="csv"))

    assert path.name.endswith(".csv.gz")
    assert shelf.of_cell(CELL) == [path]


def test_an_answer_of_several_cells_lies_in_a_folder_of_its_own(shelf):
    path = shelf.keep(answer(cells=(CELL, NEXT)))

    assert path.parent.name == "many"
    assert shelf.of_many() == [path]
    assert shelf.of_cell(CELL) == []


def test_nothing_is_kept_of_an_answer_without_its_text(shelf, tmp_path):
    assert shelf.keep(answer(raw=b"")) is None
    assert list(tmp_path.iterdir()) == []


def test_the_same_answer_is_kept_once(shelf):
    shelf.keep(answer())

    assert shelf.keep(answer()) is None
    assert len(shelf.of_cell(CELL)) == 1


def test_an_answer_that_differs_or_covers_other_days_is_kept_beside_it(shelf):
    shelf.keep(answer())
    shelf.keep(answer(fingerprint="e" * 64))
    shelf.keep(answer(start=date(2026, 7, 2)))

    assert len(shelf.of_cell(CELL)) == 3


def test_the_same_answer_gives_the_same_bytes_on_any_day(shelf):
    first = shelf.keep(answer())
    second = shelf.keep(answer(cells=(NEXT,)))

    assert first.read_bytes() == second.read_bytes()


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    path = tmp_path / "copy.gz"
    write_whole(path, b"old")

    def full(self, target):
        raise OSError("no space left")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="no space left"):
        write_whole(path, b"new")

    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
