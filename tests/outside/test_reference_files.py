"""Every published value carried in fixtures/reference says where it comes from."""

from __future__ import annotations

import pytest

from outside.cases import REFERENCE, lines

FILES = sorted(path.name for path in REFERENCE.iterdir())
STATUS = {"verified", "verified reprint", "verified-secondary", "verified-2nd"}
STATUS |= {"computed", "derived", "memory"}


@pytest.mark.parametrize("name", FILES)
def test_a_file_names_its_source_in_its_first_line(name):
    assert (REFERENCE / name).read_text("utf-8").startswith("# Source: ")


@pytest.mark.parametrize("name", FILES)
def test_every_row_names_its_source(name):
    rows = lines(name)

    assert rows
    assert [row for row in rows if not (row["source"] or "").strip()] == []


@pytest.mark.parametrize("name", FILES)
def test_every_single_value_says_how_sure_it_is(name):
    assert {row["status"] for row in lines(name) if "status" in row} <= STATUS


def test_the_fixtures_readme_lists_every_file():
    told = (REFERENCE.parent / "README.md").read_text("utf-8")

    assert FILES
    assert [name for name in FILES if f"`{name}`" not in told] == []
