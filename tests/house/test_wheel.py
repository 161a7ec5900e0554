"""The built wheel carries everything that lies in the two packages, and nothing else."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

from house.tree import ROOT, project_files

PACKAGES = {("rules", "rootbound_rules"), ("service", "rootbound_service")}


def test_the_wheel_holds_every_file_of_both_packages_and_no_other(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
    (wheel,) = tmp_path.glob("*.whl")

    with zipfile.ZipFile(wheel) as archive:
        built = {name for name in archive.namelist() if ".dist-info/" not in name}
    ours = {"/".join(path.parts[1:]) for path in project_files() if path.parts[:2] in PACKAGES}

    assert built == ours
