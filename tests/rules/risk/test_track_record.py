"""What a rung has meant is what the page on real seasons counts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_rules.risk.track_record import track_record

PAGE = Path(__file__).resolve().parents[3] / "rules" / "docs" / "real-seasons.md"
ROW = re.compile(r"^\| (\d) ([a-z ]+) \| \d+ \| \d+ % \| (\d+) \| (\d+) % ", re.MULTILINE)


def test_nothing_rises_to_ample():
    assert track_record(0) is None


@pytest.mark.parametrize("rung", [1, 2, 3, 4])
def test_the_record_of_each_rung_is_that_of_the_page(rung):
    found = {int(row[0]): row for row in ROW.findall(PAGE.read_text(encoding="utf-8"))}
    _, name, rises, share = found[rung]
    record = track_record(rung)

    assert record is not None
    assert name == RUNG_NAMES[rung]
    assert record.rises == int(rises)
    assert round(100 * record.ran_short / record.rises) == int(share)
