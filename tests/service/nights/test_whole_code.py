"""The first process after an upgrade computes the same as all later ones, to the digit."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[3]
FIGURES = """
import hashlib
from datetime import timedelta
from rootbound_service.nights.whole_code import read_whole_code
read_whole_code()
from outlook_scene import PLANTED, YEARS, demand_of, make_kind
from rootbound_rules.season.outlook import look_out
known = PLANTED + timedelta(days=60)
for kind in (1, 6, 7):
    outlook = look_out(make_kind(kind).season, demand_of(3), known, kind + 1, YEARS)
    print(hashlib.sha256(outlook.held_stress.tobytes()).hexdigest())
"""
"""Kinds of fields whose figures differed between a process that compiled and one that read."""


def test_a_process_that_finds_no_code_computes_as_the_next_one(tmp_path: Path) -> None:
    first, second = _figures(tmp_path), _figures(tmp_path)

    assert len(set(first)) == 3
    assert first == second


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
