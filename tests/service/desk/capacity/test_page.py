"""The page on capacity says what the model says."""

from __future__ import annotations

import re

from house.tree import ROOT
from rootbound_service.desk.capacity.asked import Manners
from rootbound_service.desk.capacity.measured import shipped
from rootbound_service.desk.capacity.page import SIZES, page
from rootbound_service.desk.capacity.words import count, lasting, share, size
from rootbound_service.wiring import POLITE_PAUSE_S

PAGE = ROOT / "deploy" / "capacity.md"


def test_the_page_is_the_models_to_the_letter():
    told = PAGE.read_text("utf-8")

    assert told == page(Manners(POLITE_PAUSE_S)), (
        "write it again: rootbound capacity page > deploy/capacity.md"
    )


def test_every_figure_stands_on_the_page_with_whether_it_was_measured():
    row = re.compile(r"^\| `(\w+)` \|.*\| (measured|assumed|read) \|", re.MULTILINE)
    told = dict(row.findall(PAGE.read_text("utf-8")))

    assert told == {one.name: one.tag for one in shipped().figures.values()}


def test_every_size_has_its_own_part():
    for fields in SIZES:
        assert f"### {fields:,} fields" in PAGE.read_text("utf-8")


def test_no_table_of_the_page_lacks_a_cell():
    tables = re.findall(r"(?:^\|.*\|$\n?)+", PAGE.read_text("utf-8"), re.MULTILINE)

    assert len(tables) > 10
    for table in tables:
        assert len({line.count(" | ") for line in table.splitlines()}) == 1


def test_numbers_are_short_and_their_units_fit():
    assert [count(value) for value in (0, 0.0377, 46.66, 100.4, 1_234, 7_468_608)] == [
        "0", "0.0377", "46.7", "100", "1,230", "7,470,000",
    ]  # fmt: skip
    assert [lasting(value) for value in (3, 119, 700, 7_199, 7_201, 200_000)] == [
        "3 s", "119 s", "12 min", "120 min", "2 h", "2.3 d",
    ]  # fmt: skip
    assert [size(value) for value in (0.0235, 3.14, 999, 17_850)] == [
        "24 MB", "3.1 GB", "999 GB", "18 TB",
    ]  # fmt: skip
    assert [share(value) for value in (0.1, 1.04, 26.3)] == ["10%", "104%", "26 times"]
