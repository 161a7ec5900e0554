"""The files of an operator: units that systemd reads, settings that load, secrets kept apart."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

from house.tree import ROOT
from rootbound_service.settings import PREFIX, Settings, load_settings

DEPLOY = ROOT / "deploy"
HOST = DEPLOY / "host"
UNITS = [
    *sorted(HOST.glob("*.service")),
    *sorted(HOST.glob("*.timer")),
    *sorted(HOST.glob("*.target")),
]
SERVICES = [unit for unit in UNITS if "/bin/rootbound " in unit.read_text(encoding="utf-8")]
FILES = sorted([*HOST.iterdir(), DEPLOY / "guide.md"])
NAMES = {f"{PREFIX}{name}".upper() for name in Settings.model_fields}
RUNS = re.compile(r"^ExecStart=.*/opt/rootbound/current/bin/rootbound (\w+)", re.MULTILINE)
SETTING = re.compile(r"\b(ROOTBOUND_[A-Z_]+)\b")
GIVEN = re.compile(
    r"^(?:Environment=|export |ENV |    )(ROOTBOUND_\w+)[=:] ?([^ \n]+)", re.MULTILINE
)
ENVIRONMENTS = ("rootbound-here", "Containerfile", "compose.yaml")


def name_of(path):
    return path.name


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze here")
@pytest.mark.parametrize("unit", UNITS, ids=name_of)
def test_systemd_reads_every_unit(unit):
    command = ["systemd-analyze", "verify", str(unit)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    said = [line for line in done.stderr.splitlines() if "is not executable" not in line]

    assert [line for line in said if unit.name in line or "rootbound" in line] == []


@pytest.mark.parametrize("unit", SERVICES, ids=name_of)
def test_every_unit_runs_a_command_there_is_and_may_write_its_own_places_only(unit):
    from rootbound_service.cli.app import app

    text = unit.read_text(encoding="utf-8")
    (command,) = RUNS.findall(text)

    assert command in {one.name for one in app.registered_commands}
    for wall in ("ProtectSystem=strict", "NoNewPrivileges=yes", "CapabilityBoundingSet=\n"):
        assert wall in text


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_settings_that_are_named_exist(path):
    named = set(SETTING.findall(path.read_text(encoding="utf-8")))
    known = NAMES | {f"{name}_FILE" for name in NAMES}

    assert named - known == set()


@pytest.mark.parametrize("path", [*SERVICES, *map(HOST.joinpath, ENVIRONMENTS)], ids=name_of)
def test_a_start_takes_the_settings_that_a_file_gives(path, tmp_path):
    given = dict(GIVEN.findall(path.read_text(encoding="utf-8")))
    for name in [name for name in given if name.endswith("_FILE")]:
        secret = tmp_path / name
        what = "sqlite:///here.db" if "DATABASE" in name else "a secret of tests"
        secret.write_text(what, encoding="utf-8")
        given[name] = str(secret)
    lines = (HOST / "rootbound.env").read_text(encoding="utf-8").splitlines()
    settings = dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))

    assert given
    assert load_settings(settings | given).mail_from == settings["ROOTBOUND_MAIL_FROM"]


def test_a_stop_leaves_a_worker_the_time_and_the_processes_to_end_its_chunks():
    unit = (HOST / "rootbound-worker.service").read_text(encoding="utf-8")
    image = (HOST / "compose.yaml").read_text(encoding="utf-8")

    assert "\nKillMode=mixed\n" in unit
    assert re.findall(r"^TimeoutStopSec=(\d+)$", unit, re.MULTILINE) == ["300"]
    assert re.findall(r"stop_grace_period: (\w+)", image) == ["5m"]


@pytest.mark.parametrize("unit", SERVICES, ids=name_of)
def test_every_unit_reads_the_keys_of_a_bucket_where_there_are_any(unit):
    assert "\nEnvironmentFile=-/etc/rootbound/bucket.env\n" in unit.read_text(encoding="utf-8")


def test_no_secret_stands_in_a_file_of_settings():
    lines = (HOST / "rootbound.env").read_text(encoding="utf-8").splitlines()
    given = [line.partition("=")[0] for line in lines if line and not line.startswith("#")]

    assert not [
        name for name in given if re.search(r"SECRET|PASSWORD|TOKEN|KEY|DATABASE_URL", name)
    ]


def test_an_image_is_built_of_named_files_only():
    recipe = (HOST / "Containerfile").read_text(encoding="utf-8")
    copied = [
        source
        for line in re.findall(r"^COPY (?!--from)(.+) \S+$", recipe, re.MULTILINE)
        for source in line.split()
    ]

    assert copied
    assert "." not in copied
    assert [source for source in copied if not (ROOT / source).exists()] == []


def test_the_proxy_writes_no_path_down():
    site = (HOST / "nginx.conf").read_text(encoding="utf-8")
    (form,) = re.findall(r"^log_format rootbound '(.+)';$", site, re.MULTILINE)
    logs = re.findall(r"^\s*access_log (.+);$", site, re.MULTILINE)

    assert not re.search(r"\$(request\b|request_uri|uri|args|query_string|http_referer)", form)
    assert [log for log in logs if log != "off" and not log.endswith(" rootbound")] == []
    assert "error_log /var/log/nginx/rootbound-error.log crit;" in site


def test_an_installation_takes_the_lock_of_a_service_alone():
    script = (DEPLOY / "install").read_text("utf-8")
    recipe = (HOST / "Containerfile").read_text("utf-8")

    assert re.findall(r"lock-\w+\.txt", script) == ["lock-service.txt"]
    assert "install --no-deps --require-hashes -r" in script
    assert re.findall(r"lock-\w+\.txt", recipe) == ["lock-service.txt"]


def test_a_command_by_hand_reads_the_settings_as_systemd_does(tmp_path):
    """systemd.exec(5), EnvironmentFile=: values end with their line, quotes around them go."""
    (tmp_path / "rootbound.env").write_text(
        "# a comment\n"
        "ROOTBOUND_MAIL_FROM_NAME=Alder Watch; $(false) `false`\n"
        'ROOTBOUND_MAIL_FROM="alerts@rootbound.example"\n'
        "ROOTBOUND_BASE_URL=https://rootbound.example/?a=b",
        encoding="utf-8",
    )
    (tmp_path / "bucket.env").write_text("AWS_REGION=eu-north-1\nPATH=nowhere\n", "utf-8")
    known = tmp_path / "id"
    known.write_text("#!/bin/sh\necho rootbound\n", encoding="utf-8")
    known.chmod(0o700)
    script = (HOST / "rootbound-here").read_text(encoding="utf-8")
    script = script.replace("/etc/rootbound", str(tmp_path))
    script = script.replace("/opt/rootbound/current/bin/rootbound", "/usr/bin/env")
    done = subprocess.run(
        ["/bin/sh", "-s"],
        input=script,
        env={"PATH": f"{tmp_path}:/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=True,
    )
    given = dict(line.split("=", 1) for line in done.stdout.splitlines())

    assert given["ROOTBOUND_MAIL_FROM_NAME"] == "Alder Watch; $(false) `false`"
    assert given["ROOTBOUND_MAIL_FROM"] == "alerts@rootbound.example"
    assert given["ROOTBOUND_BASE_URL"] == "https://rootbound.example/?a=b"
    assert (given["AWS_REGION"], given["PATH"]) == ("eu-north-1", f"{tmp_path}:/usr/bin:/bin")


def test_an_alert_rests_on_figures_that_are_given():
    told = (ROOT / "service/rootbound_service/web/metrics.py").read_text(encoding="utf-8")
    given = {f"rootbound_{name}" for name in re.findall(r'gauge\("(\w+)"', told)}
    rules = (HOST / "rootbound-alerts.yml").read_text(encoding="utf-8")
    asked = set(re.findall(r"\b(rootbound_\w+)", rules))

    assert asked
    assert asked - given == set()
