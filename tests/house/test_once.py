"""What tests share is made once and whole, and nobody's changes reach another's copy."""

from __future__ import annotations

from pathlib import Path
from uuid import uuid4

import pytest

from once import copy_of, made_once


def test_it_is_made_once_and_a_copy_may_be_changed(tmp_path: Path) -> None:
    name, made = uuid4().hex, list[Path]()

    def make(folder: Path) -> None:
        made.append(folder)
        (folder / "within").mkdir()
        (folder / "within" / "a.txt").write_text("as made", encoding="utf-8")

    for who in ("one", "other"):
        copy_of(name, make, tmp_path / who)
        (tmp_path / who / "within" / "a.txt").write_text("changed", encoding="utf-8")
    copy_of(name, make, tmp_path / "last")

    assert len(made) == 1
    assert (tmp_path / "last" / "within" / "a.txt").read_text(encoding="utf-8") == "as made"


def test_a_maker_that_fails_leaves_nothing_and_the_next_one_makes_it_whole() -> None:
    name = uuid4().hex

    def breaks(folder: Path) -> None:
        (folder / "half").touch()
        raise OSError("no space left")

    with pytest.raises(OSError, match="no space"):
        made_once(name, breaks)
    whole = made_once(name, lambda folder: (folder / "whole").touch())

    assert [path.name for path in whole.iterdir()] == ["whole"]
