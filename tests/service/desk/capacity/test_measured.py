"""The figures: strict to read, each with where it is from."""

from __future__ import annotations

import re

import pytest

from house.tree import ROOT
from rootbound_service.desk.capacity.measured import read, shipped
from rootbound_service.errors import RefusedInput

ROW = """
[machine.none]
words = "none"
[value.one]
value = 1
unit = "s"
words = "a thing"
tag = "measured"
by = "hand"
on = 2026-11-26
machine = "none"
"""


def test_every_figure_is_used_and_every_one_used_is_there():
    room = ROOT / "service" / "rootbound_service" / "desk" / "capacity"
    text = "".join(path.read_text("utf-8") for path in room.glob("*.py"))
    used = set(re.findall(r'measured\["(\w+)"\]', text))

    assert used == set(shipped().figures)


def test_what_was_measured_says_on_which_machine():
    silent = [
        one.name for one in shipped().figures.values() if one.tag == "measured"
        and one.machine == "none"
    ]  # fmt: skip

    assert silent == []


def test_a_row_reads_as_it_stands():
    one = read(ROW).figures["one"]

    assert (one.value, one.unit, one.on, one.machine) == (1.0, "s", "2026-11-26", "none")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("value = 1", "value = -1", "cannot be"),
        ("value = 1", "value = nan", "cannot be"),
        ("value = 1", 'value = "1"', "no number"),
        ("value = 1", "value = true", "no number"),
        ('tag = "measured"', 'tag = "guessed"', "unknown"),
        ('machine = "none"', 'machine = "big"', "unknown"),
        ('by = "hand"\n', "", "has"),
    ],
)
def test_a_row_that_is_wrong_is_named(old, new, said):
    with pytest.raises(RefusedInput, match=re.escape("[value.one]")) as told:
        read(ROW.replace(old, new))

    assert said in str(told.value)
