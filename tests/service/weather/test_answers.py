"""Raw answers are kept once each, whole or not at all."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from rootbound_service.weather.answers import read_copy, write_whole
from rootbound_service.weather.cells import snap
from rootbound_service.weather.day import QUANTITY_NAMES, Answer

CELL = snap(42.03, -93.62)


def answer(raw=b'{"a":1}', fingerprint="f" * 64, start=date(2026, 7, 1)):
    columns = {name: np.zeros(5) for name in QUANTITY_NAMES}
    return Answer(start, columns, 300.0, (), raw, fingerprint)


def test_an_answer_is_kept_as_it_came(shelf):
    path = shelf.keep(CELL, answer())

    assert path is not None
    assert path.name == "20260701-20260705-ffffffffffff.json.gz"
    assert path.parent.name == "m264-138_s132-86"
    assert read_copy(path) == b'{"a":1}'


def test_the_same_answer_is_kept_once(shelf):
    shelf.keep(CELL, answer())

    assert shelf.keep(CELL, answer()) is None
    assert len(shelf.of_cell(CELL)) == 1


def test_an_answer_that_differs_or_covers_other_days_is_kept_beside_it(shelf):
    shelf.keep(CELL, answer())
    shelf.keep(CELL, answer(fingerprint="e" * 64))
    shelf.keep(CELL, answer(start=date(2026, 7, 2)))

    assert len(shelf.of_cell(CELL)) == 3


def test_the_same_answer_gives_the_same_bytes_on_any_day(shelf, tmp_path):
    first = shelf.keep(CELL, answer())
    second = shelf.keep(snap(43, -93), answer())

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
