"""How the doctor's findings are printed: grouped, what is bad first, within 80 columns."""

from __future__ import annotations

from rootbound_service.cli.checking_shown import WIDTH, Group, lines_of
from rootbound_service.public.finding import Finding

GOOD = Finding("room", well=True, said="enough")
ILL = Finding(
    "clock", well=False, said="is slow", mend="set it", why="nights go by it", run="a command"
)
PATH = "/srv/" + "long/" * 30


def test_groups_with_something_bad_come_first_and_in_them_what_is_bad():
    lines = lines_of([Group("A", [GOOD]), Group("B", [GOOD, ILL]), Group("C", [ILL])])

    bad = ["  BAD   clock: is slow", "        why it matters: nights go by it"]
    bad += ["        what to do: set it", "          a command"]
    well = ["  well  room: enough"]
    assert lines == ["B", *bad, *well, "C", *bad, "A", *well]


def test_a_group_without_findings_has_no_line():
    assert lines_of([Group("A", [])]) == []


def test_long_sentences_are_broken_at_words_and_stand_under_their_own():
    long = Finding("clock", well=False, said="slow " * 40, mend="set it " * 40, why="so " * 60)
    lines = lines_of([Group("A", [long])])

    assert max(map(len, lines)) <= WIDTH
    assert {line[:8] for line in lines[1:]} == {"  BAD   ", " " * 8}


def test_a_command_stands_whole_on_a_line_of_its_own_to_be_copied():
    command = "word " * 30
    lines = lines_of([Group("A", [Finding("x", well=False, said="y", mend="z", run=command)])])

    assert command in lines[-1]


def test_a_path_is_never_broken_so_that_it_can_be_copied():
    lines = lines_of([Group("A", [Finding("rights", well=False, said=f"{PATH} is closed")])])

    assert any(PATH in line for line in lines)
