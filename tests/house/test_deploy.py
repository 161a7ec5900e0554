"""The files of an operator: units that systemd reads, commands and settings that exist."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

from house.tree import ROOT
from rootbound_service.settings import PREFIX, Settings

HOST = ROOT / "deploy" / "host"
UNITS = sorted(HOST.glob("*.service")) + sorted(HOST.glob("*.timer"))
NAMES = {f"{PREFIX}{name}".upper() for name in Settings.model_fields} | {"ROOTBOUND_KERNEL_CACHE"}
RUNS = re.compile(r"^ExecStart=/opt/rootbound/current/bin/rootbound (\w+)", re.MULTILINE)
SETTING = re.compile(r"\b(ROOTBOUND_[A-Z_]+)\b")


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze here")
@pytest.mark.parametrize("unit", UNITS, ids=lambda path: path.name)
def test_systemd_reads_every_unit(unit):
    command = ["systemd-analyze", "verify", str(unit)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    said = [line for line in done.stderr.splitlines() if "is not executable" not in line]

    assert [line for line in said if unit.name in line or "rootbound" in line] == []


@pytest.mark.parametrize("unit", sorted(HOST.glob("*.service")), ids=lambda path: path.name)
def test_every_unit_runs_a_command_there_is_and_may_write_its_own_places_only(unit):
    from rootbound_service.cli.app import app

    text = unit.read_text(encoding="utf-8")
    (command,) = RUNS.findall(text)

    assert command in {one.name for one in app.registered_commands}
    for wall in ("ProtectSystem=strict", "NoNewPrivileges=yes", "CapabilityBoundingSet=\n"):
        assert wall in text


@pytest.mark.parametrize(
    "path", sorted([*HOST.iterdir(), ROOT / "deploy" / "guide.md"]), ids=lambda path: path.name
)
def test_settings_that_are_named_exist(path):
    named = set(SETTING.findall(path.read_text(encoding="utf-8")))
    known = NAMES | {f"{name}_FILE" for name in NAMES}

    assert named - known == set()


def test_no_secret_stands_in_a_file_of_settings():
    lines = (HOST / "rootbound.env").read_text(encoding="utf-8").splitlines()
    given = [line.partition("=")[0] for line in lines if line and not line.startswith("#")]

    assert not [
        name for name in given if re.search(r"SECRET|PASSWORD|TOKEN|KEY|DATABASE_URL", name)
    ]
