"""Help answers at once and says what the exit codes mean."""

from __future__ import annotations

import subprocess
import sys

import pytest

COMMANDS = ("enroll", "import", "dig", "nightly", "send", "digest", "worker", "fields", "show")
HEAVY = ("numpy", "pandas", "sqlalchemy", "numba", "matplotlib", "zarr", "xarray")

LOADED = f"""
import sys
from rootbound_service.cli.app import app
try:
    app(sys.argv[1:])
except SystemExit as done:
    print("loaded:", sorted(set({HEAVY!r}) & set(sys.modules)), done.code)
"""


@pytest.mark.parametrize("args", [["--help"], ["enroll", "--help"], ["nonsense"]])
def test_help_and_usage_load_nothing_heavy(args) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOADED, *args], capture_output=True, text=True, check=True
    )

    code = 2 if args == ["nonsense"] else 0
    assert done.stdout.splitlines()[-1] == f"loaded: [] {code}"


def test_help_names_every_command_and_the_exit_codes(run) -> None:
    told = " ".join(run("--help").stdout.split())

    for command in COMMANDS:
        assert f" {command} " in told
    for code in ("0 done", "1 refused", "2 the command was written wrongly", "3 partly failed"):
        assert code in told


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_its_help_within_80_columns(run, command) -> None:
    result = run(command, "--help")

    assert result.exit_code == 0
    assert "Exit codes" in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 80


@pytest.mark.parametrize("args", [["plant"], ["show"], ["fields", "--units", "stone"]])
def test_a_command_written_wrongly_exits_with_2(run, args) -> None:
    result = run(*args)

    assert result.exit_code == 2
    assert "Usage: " in result.stderr
