"""The demo's own driver, some days of it, twice: every letter and page comes out the same."""

from __future__ import annotations

import os
import subprocess
import sys
from email import message_from_bytes, policy
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DAYS = """
import sys
sys.path[:0] = ["fixtures"]
from datetime import date
from demo import live
cards = [card for day in live.planned_digs().values() for card in day]
live.FIRST_NIGHT, live.LAST_NIGHT = date(2026, 7, 9), date(2026, 7, 13)
live.planned_digs = lambda: {live.FIRST_NIGHT: cards}
settings = live.load_settings
live.load_settings = lambda env: settings(env | {"ROOTBOUND_HISTORY_YEARS": "3"})
sys.argv = ["demo", "--season", "dry", "--out", sys.argv[1]]
sys.exit(live.main())
"""


def start(out: Path, seed: str) -> subprocess.Popen[str]:
    """Run the driver in a process with its own hash seed and its own time zone."""
    odd = {"PYTHONHASHSEED": seed, "TZ": f"Etc/GMT+{seed}"}
    env = {name: value for name, value in os.environ.items() if not name.startswith("ROOTBOUND_")}
    command = [sys.executable, "-W", "error", "-c", DAYS, str(out)]
    return subprocess.Popen(
        command, cwd=ROOT, env=env | odd, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )


@pytest.fixture(scope="module")
def runs(tmp_path_factory):
    """Two runs side by side: the folder of each, and what it printed."""
    folders = [tmp_path_factory.mktemp(f"demo{seed}") for seed in "12"]
    started = [start(folder, seed) for folder, seed in zip(folders, "12", strict=True)]
    told = [run.communicate(timeout=200) for run in started]
    assert [run.returncode for run in started] == [0, 0], told[0][1] + told[1][1]
    return [(folder / "dry", text) for folder, (text, _) in zip(folders, told, strict=True)]


def test_two_runs_of_the_demo_give_the_same_letters_and_pages_byte_for_byte(runs):
    (one, _), (two, _) = runs
    names = sorted(
        path.relative_to(one) for path in one.rglob("*") if path.suffix in {".eml", ".html", ".png"}
    )

    assert {name.suffix for name in names} == {".eml", ".html", ".png"}
    assert [name for name in names if (one / name).read_bytes() != (two / name).read_bytes()] == []
    others = {p.relative_to(two) for p in two.rglob("*") if p.suffix in {".eml", ".html", ".png"}}
    assert others == set(names)


def test_the_days_bring_digests_and_notes_of_every_kind_to_the_invented_people_only(runs):
    letters = [
        message_from_bytes(path.read_bytes(), policy=policy.default)
        for path in (runs[0][0] / "mail").glob("*.eml")
    ]
    lists = [str(letter["List-ID"]) for letter in letters]

    assert sum("<digest." in one for one in lists) == 3  # three people, a Monday
    assert len(lists) > 9  # the others are notes
    kinds = {str(letter["Subject"]).split(":")[0] for letter in letters}
    assert kinds == {"Not dug", "Tight", "Short", "Failing", "Week 29"}
    assert sum("<operator." in one for one in lists) == 0
    assert all(str(letter["To"]).endswith((".example>", ".example")) for letter in letters)


def test_what_the_demo_prints_names_only_files_that_are_there(runs):
    for folder, printed in runs:
        assert "failed" not in printed
        assert "Some of the days came from the second" in printed
        assert "notes went as texts too" in printed
        named = [word for word in printed.split() if word.endswith((".html", ".png"))]
        assert named
        assert all((ROOT / name).exists() for name in named), named
        assert str(folder) in printed
