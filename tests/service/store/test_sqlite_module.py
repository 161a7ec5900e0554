"""The SQLite that may corrupt its write-ahead log is passed over, or used without one."""

from __future__ import annotations

import sys
from types import ModuleType

import pytest

from rootbound_service.store.sqlite_module import choose_sqlite, wal_is_unsafe

BROKEN, MENDED = (3, 40, 1), (3, 51, 3)


@pytest.mark.parametrize(
    ("version", "unsafe"),
    [
        # before write-ahead logs
        ((3, 6, 23), False),
        ((3, 7, 0), True),
        ((3, 40, 1), True),
        # mended in 3.51.3, and backported to two older lines
        ((3, 44, 5), True),
        ((3, 44, 6), False),
        ((3, 45, 0), True),
        ((3, 50, 6), True),
        ((3, 50, 7), False),
        ((3, 51, 2), True),
        ((3, 51, 3), False),
        ((3, 53, 4), False),
    ],
)
def test_the_affected_versions_are_known(version: tuple[int, int, int], unsafe: bool) -> None:
    assert wal_is_unsafe(version) is unsafe


def _module(name: str, version: tuple[int, int, int]) -> ModuleType:
    module = ModuleType(name)
    module.sqlite_version_info = version  # type: ignore[attr-defined]
    return module


@pytest.mark.parametrize(
    ("system", "packaged", "chosen", "wal"),
    [
        (MENDED, None, "system", True),
        (MENDED, MENDED, "system", True),
        (BROKEN, None, "system", False),
        (BROKEN, BROKEN, "system", False),
        (BROKEN, MENDED, "a_packaged_sqlite", True),
    ],
)
def test_the_first_safe_module_is_chosen_else_the_log_is_given_up(
    monkeypatch: pytest.MonkeyPatch,
    system: tuple[int, int, int],
    packaged: tuple[int, int, int] | None,
    chosen: str,
    wal: bool,
) -> None:
    name = "a_packaged_sqlite"
    if packaged:
        monkeypatch.setitem(sys.modules, name, _module(name, packaged))

    choice = choose_sqlite(_module("system", system), name)

    assert (choice.module.__name__, choice.wal) == (chosen, wal)
