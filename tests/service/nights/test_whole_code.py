"""The first process after an upgrade computes the same as all later ones, to the digit.

What these figures do not go through, the search for rain to hold, is two thirds of the compiler's
work: its code is laid into the folder beforehand where this run has it. The season's own is made.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from rootbound_rules.season.cache import folder

ROOT = Path(__file__).parents[3]
FIGURES = """
import hashlib
from datetime import timedelta
from rootbound_service.nights.whole_code import read_whole_code
read_whole_code()
from outlook_scene import PLANTED, YEARS, demand_of, season_of
from rootbound_rules.season.outlook import look_out
known, years = PLANTED + timedelta(days=60), list(YEARS)
for kind in (1, 6, 7):
    outlook = look_out(season_of(kind), demand_of(3), known, kind + 1, years)
    print(hashlib.sha256(outlook.held_stress.tobytes()).hexdigest())
"""
"""Kinds of fields whose figures differed between a process that compiled and one that read."""


def test_a_process_that_finds_no_code_computes_as_the_next_one(tmp_path: Path) -> None:
    _lay_in_the_search(tmp_path)
    assert _kept(tmp_path, "kernel") == []

    first = _figures(tmp_path)
    made = _kept(tmp_path, "kernel")
    second = _figures(tmp_path)

    assert len(set(first)) == 3
    assert first == second
    assert made != []
    assert _kept(tmp_path, "kernel") == made  # the second process only read


def _lay_in_the_search(cache: Path) -> None:
    """Copy compiled code of the search for rain to hold: all it needs, nothing of the season."""
    kept = Path(folder())
    for path in kept.rglob("hold.*.nb?"):
        target = cache / kept.name / path.relative_to(kept)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, target)


def _kept(cache: Path, module: str) -> list[tuple[str, int]]:
    """Kept code of one module: names, and when each was written."""
    found = cache.rglob(f"{module}.*.nb?")
    return sorted((path.name, path.stat().st_mtime_ns) for path in found)


def _figures(cache: Path) -> list[str]:
    paths = (ROOT / "fixtures", ROOT / "tests" / "bench", ROOT / "tests")
    env = {
        "PATH": os.environ["PATH"],
        "HOME": os.environ.get("HOME", "/"),
        "PYTHONPATH": os.pathsep.join(map(str, paths)),
        "ROOTBOUND_KERNEL_CACHE": str(cache),
    }
    done = subprocess.run(
        [sys.executable, "-c", FIGURES], env=env, check=True, capture_output=True, text=True
    )
    return done.stdout.split()
