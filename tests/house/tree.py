"""The project's own files, as version control sees them."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@cache
def project_files() -> tuple[Path, ...]:
    """Every tracked or not yet tracked file that is not ignored, relative to the root."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    try:
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    except (OSError, subprocess.CalledProcessError) as error:
        pytest.skip(f"the house tests need a git checkout: {error}")
    names = [Path(name) for name in done.stdout.split("\0") if name]
    return tuple(sorted(name for name in names if (ROOT / name).is_file()))


def python_files(*folders: str) -> tuple[Path, ...]:
    """The Python files, all of them or those under some top-level folders."""
    return tuple(
        path
        for path in project_files()
        if path.suffix == ".py" and (not folders or path.parts[0] in folders)
    )
