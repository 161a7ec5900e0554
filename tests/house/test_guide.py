"""The guide for operators: its commands can be read, lead somewhere, and are walked."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from house.tree import ROOT

GUIDE = ROOT / "deploy" / "guide.md"
WALK = ROOT / "tests" / "house" / "walk"
NOT_WALKED = {("11", 1)}
"""Containers: no engine runs where the walk was written."""


def blocks():
    """Every block of commands by section and place."""
    found = {}
    for part in re.split(r"^## ", GUIDE.read_text("utf-8"), flags=re.MULTILINE)[1:]:
        section = part.partition(". ")[0]
        fences = re.findall(r"^```sh\n(.*?)^```$", part, re.MULTILINE | re.DOTALL)
        found |= {(section, place): fence for place, fence in enumerate(fences, 1)}
    return found


BLOCKS = blocks()


@pytest.mark.parametrize("key", BLOCKS, ids=lambda key: f"{key[0]}-{key[1]}")
def test_a_shell_can_read_every_block(key):
    done = subprocess.run(
        ["bash", "-n"], input=BLOCKS[key], capture_output=True, text=True, check=False
    )

    assert done.stderr == ""


def test_every_command_of_the_guide_exists():
    from typer.main import get_command

    from rootbound_service.cli.app import app

    text = GUIDE.read_text("utf-8").replace("\\\n", " ")
    named = re.findall(r"rootbound-here (?:--\S+ \S+\s+)*([a-z][a-z-]*)(?: ([a-z]+))?", text)
    known = get_command(app).commands  # type: ignore[attr-defined]  # a group
    named = [(command, sub) for command, sub in named if command != "runs"]

    assert len(named) > 10
    assert [one for one, _ in named if one not in known] == []
    assert [
        (one, sub)
        for one, sub in named
        if sub and hasattr(known[one], "commands") and sub not in known[one].commands
    ] == []


def test_every_file_of_the_guide_exists():
    paths = re.findall(r"\b((?:deploy|tests)/[\w@./*-]+[\w*])", GUIDE.read_text("utf-8"))
    made = {"deploy/host/secrets"}

    assert paths
    assert [
        path
        for path in paths
        if not any(path.startswith(one) for one in made) and not list(ROOT.glob(path))
    ] == []


def test_the_walk_takes_every_block_in_order():
    parts = "".join(path.read_text("utf-8") for path in sorted(WALK.glob("part_*.sh")))
    walked = {(section, int(place)) for section, place in re.findall(r"\bwalk (\d+) (\d+)", parts)}

    assert walked == set(BLOCKS) - NOT_WALKED


def test_the_walk_reads_a_block_as_it_is_written():
    command = [sys.executable, str(WALK / "blocks.py"), str(GUIDE), "2", "1"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)

    assert done.stdout == BLOCKS["2", 1]
