"""Compiled code is kept where it can be, and never survives a change of the rules."""

from __future__ import annotations

from pathlib import Path

import pytest

from rootbound_rules.season import cache


@pytest.fixture
def package(tmp_path, monkeypatch):
    """A small package in place of the rules."""
    root = tmp_path / "package"
    (root / "season").mkdir(parents=True)
    (root / "one.py").write_text("x = 1\n")
    (root / "season" / "two.py").write_text("y = 2\n")
    monkeypatch.setattr(cache, "PACKAGE", root)
    monkeypatch.delenv("ROOTBOUND_KERNEL_CACHE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(cache.tempfile, "gettempdir", lambda: str(tmp_path / "temporary"))
    cache.fingerprint.cache_clear()
    cache.folder.cache_clear()
    yield root
    cache.fingerprint.cache_clear()
    cache.folder.cache_clear()


def _mark():
    return cache.fingerprint.__wrapped__()


def test_the_fingerprint_is_the_same_for_the_same_sources(package):
    assert _mark() == _mark()


@pytest.mark.parametrize(
    "change",
    [
        lambda root: (root / "one.py").write_text("x = 3\n"),
        lambda root: (root / "season" / "two.py").write_text("y = 2 \n"),
        lambda root: (root / "season" / "three.py").write_text(""),
        lambda root: (root / "one.py").unlink(),
        lambda root: (root / "one.py").rename(root / "season" / "one.py"),
    ],
    ids=["a number", "a space", "a new file", "a file less", "a file moved"],
)
def test_any_changed_source_changes_the_fingerprint(package, change):
    before = _mark()
    change(package)
    assert _mark() != before


def test_code_is_kept_beside_the_sources(package):
    assert Path(cache.folder()).parent == package / "__pycache__"
    assert cache.fingerprint() in cache.folder()


def test_code_is_kept_at_home_where_the_package_cannot_be_written(package, tmp_path):
    (package / "__pycache__").write_text("a file where a folder should be")
    assert Path(cache.folder()).parent == tmp_path / "home" / "rootbound"


def test_code_is_kept_at_home_where_the_folder_is_there_but_not_writable(
    package, tmp_path, monkeypatch
):
    monkeypatch.setattr(cache.os, "access", lambda path, _: "__pycache__" not in Path(path).parts)
    assert Path(cache.folder()).parent == tmp_path / "home" / "rootbound"


def test_code_is_kept_among_temporary_files_where_home_cannot_be_written(package, tmp_path):
    (package / "__pycache__").write_text("")
    (tmp_path / "home").write_text("")
    assert Path(cache.folder()).parent.parent == tmp_path / "temporary"


def test_code_is_not_kept_where_nothing_can_be_written(package, tmp_path):
    for name in ("home", "temporary"):
        (tmp_path / name).write_text("")
    (package / "__pycache__").write_text("")
    assert cache.folder() == ""
    assert cache.cached(_twice)(4.0) == 8.0


def test_a_chosen_folder_comes_first(package, tmp_path, monkeypatch):
    monkeypatch.setenv("ROOTBOUND_KERNEL_CACHE", str(tmp_path / "chosen"))
    assert Path(cache.folder()).parent == tmp_path / "chosen"


def test_compiled_code_is_found_in_the_folder_afterwards(package):
    assert cache.cached(_twice)(2.0) == 4.0
    assert list(Path(cache.folder()).rglob("*.nbc"))


def _twice(x):
    return 2.0 * x
