"""The page on several hosts: its certificates as they stand, and a cluster behind them here.

RFC 5280 for the certificates, by OpenSSL's strict check; a scheduler and workers are started by
the command lines of the units, on loopback, and asked through the sweep's own room.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from house.tree import ROOT
from rootbound_service.settings import PREFIX, Settings
from rootbound_service.sweep.cluster import Cluster, Tls

PAGE = (ROOT / "deploy" / "cluster.md").read_text("utf-8")
HOST = ROOT / "deploy" / "host"
STARTED = re.compile(r"Scheduler at: +(tls://[\d.]+:(\d+))")
COMMAND = re.compile(r"^ExecStart=((?:.*\\\n)*.*)$", re.MULTILINE)
NEEDS_OPENSSL = pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here")


def block(begins: str) -> str:
    """The page's commands that begin so."""
    return next(
        one for one in re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL) if one.startswith(begins)
    )


def made(folder: Path) -> Path:
    """Certificates by the page's own commands."""
    subprocess.run(
        ["bash", "-euo", "pipefail", "-c", block("umask 077")],
        cwd=folder, check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return folder / "cluster-certificates"


@pytest.fixture(scope="module")
def certificates(tmp_path_factory):
    return made(tmp_path_factory.mktemp("certificates"))


@pytest.fixture(scope="module")
def strangers(tmp_path_factory):
    return made(tmp_path_factory.mktemp("strangers"))


def command(unit: str, folder: Path, host: str, given: dict[str, str]) -> list[str]:
    """A unit's command line, with this machine's places and numbers in it."""
    text = (HOST / unit).read_text("utf-8")
    words = COMMAND.search(text).group(1).replace("\\\n", " ").split()
    places = {
        "%d/key": str(folder / f"{host}.key"),
        "/etc/rootbound/cluster/authority.pem": str(folder / "authority.pem"),
        "/etc/rootbound/cluster/host.pem": str(folder / f"{host}.pem"),
        "%C/rootbound/chunks": str(folder / "chunks"),
        **given,
    }
    whole = [places.get(word, word) for word in words[1:]]
    assert not [word for word in whole if "%" in word or "$" in word]
    return [str(Path(sys.executable).with_name(Path(words[0]).name)), *whole]


def begun(words: list[str], log: Path) -> subprocess.Popen:
    """A process of its own group, which says what it does in a file."""
    encrypted = {"DASK_DISTRIBUTED__COMM__REQUIRE_ENCRYPTION": "True"}
    with log.open("w") as out:
        return subprocess.Popen(
            words, stdout=subprocess.DEVNULL, stderr=out, env={**os.environ, **encrypted},
            start_new_session=True,
        )  # fmt: skip


def ended(process: subprocess.Popen) -> None:
    """End a process and its own."""
    if process.poll() is None:
        process.send_signal(signal.SIGTERM)
    try:
        process.wait(20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(10)


def address_of(scheduler: subprocess.Popen, log: Path) -> tuple[str, int]:
    """Where a scheduler listens, as soon as it says so."""
    for _ in range(600):
        found = STARTED.search(log.read_text("utf-8"))
        if found:
            return found[1], int(found[2])
        try:
            scheduler.wait(0.1)  # ends early only where it could not start
        except subprocess.TimeoutExpired:
            continue
        break
    pytest.fail(f"the scheduler did not start: {log.read_text('utf-8')[-2000:]}")


@pytest.fixture(scope="module")
def cluster(certificates, tmp_path_factory):
    """A scheduler and two workers: its address, its port, both processes."""
    logs = tmp_path_factory.mktemp("logs")
    given = {"${CLUSTER_LISTEN}": "127.0.0.1", "8786": "0", "127.0.0.1:8787": "127.0.0.1:0"}
    line = command("rootbound-scheduler.service", certificates, "coordinator", given)
    scheduler = begun(line, logs / "scheduler")
    try:
        address, port = address_of(scheduler, logs / "scheduler")
        given |= {
            "${CLUSTER_SCHEDULER}": address,
            "${CLUSTER_WORKERS}": "2",
            "9100:9199": "0",
            "9200:9299": "0",
        }
        line = command("rootbound-compute.service", certificates, "compute1", given)
        workers = begun(line, logs / "workers")
        try:
            yield address, port, (scheduler, workers)
        finally:
            ended(workers)
    finally:
        ended(scheduler)


@NEEDS_OPENSSL
def test_the_pages_commands_make_certificates_that_only_their_own_authority_vouches_for(
    certificates, strangers
):
    def verified(authority: Path, one: Path) -> bool:
        words = ["openssl", "verify", "-x509_strict", "-CAfile", str(authority), str(one)]
        return subprocess.run(words, capture_output=True, check=False).returncode == 0

    for name in ("database", "coordinator", "compute1", "compute2"):
        assert verified(certificates / "authority.pem", certificates / f"{name}.pem")
        assert not verified(strangers / "authority.pem", certificates / f"{name}.pem")
    keys = list(certificates.glob("*.key"))
    assert len(keys) == 5
    assert all(key.stat().st_mode & 0o077 == 0 for key in keys)


@NEEDS_OPENSSL
def test_no_host_can_make_certificates_itself(certificates):
    words = ["openssl", "x509", "-in", str(certificates / "compute1.pem"), "-noout", "-text"]
    told = subprocess.run(words, capture_output=True, text=True, check=True).stdout

    assert "CA:FALSE" in told
    assert "Certificate Sign" not in told
    assert "DNS:compute1.rootbound.internal" in told


@NEEDS_OPENSSL
def test_chunks_come_back_from_workers_behind_tls(certificates, cluster):
    address, _, _ = cluster
    tls = Tls(*(certificates / name for name in ("authority.pem", "coordinator.pem",
                                                "coordinator.key")))  # fmt: skip

    assert sorted(Cluster(address, tls=tls).run(abs, range(20))) == list(range(20))


@NEEDS_OPENSSL
@pytest.mark.parametrize("who", ["nobody", "a stranger"])
def test_who_has_no_certificate_of_the_authority_is_turned_away(
    certificates, strangers, cluster, who
):
    _, port, _ = cluster
    context = ssl.create_default_context(cafile=str(certificates / "authority.pem"))
    context.check_hostname = False
    if who == "a stranger":
        context.load_cert_chain(strangers / "compute1.pem", strangers / "compute1.key")

    with (
        socket.create_connection(("127.0.0.1", port), 10) as plain,
        pytest.raises(ssl.SSLError),
        context.wrap_socket(plain) as secured,
    ):
        secured.recv(1)  # in TLS 1.3 the refusal comes on reading


@NEEDS_OPENSSL
def test_a_certificate_of_the_authority_is_let_in(certificates, cluster):
    _, port, _ = cluster
    context = ssl.create_default_context(cafile=str(certificates / "authority.pem"))
    context.check_hostname = False
    context.load_cert_chain(certificates / "compute2.pem", certificates / "compute2.key")

    with (
        socket.create_connection(("127.0.0.1", port), 10) as plain,
        context.wrap_socket(plain) as secured,
    ):
        assert secured.recv(1)  # it greets: the test before this one is about certificates


@NEEDS_OPENSSL
def test_who_speaks_in_clear_gets_no_word(cluster):
    _, port, _ = cluster
    with socket.create_connection(("127.0.0.1", port), 10) as plain:
        plain.sendall(b"hello, this is not TLS at all\r\n" * 4)
        try:
            heard = plain.recv(64)
        except ConnectionError:
            heard = b""

    assert heard[:1] in {b"", b"\x15"}  # closed, or a TLS alert (RFC 8446, 5.1: content type 21)


def family(process: subprocess.Popen) -> list[psutil.Process]:
    """A process and all that it began."""
    first = psutil.Process(process.pid)
    return [first, *first.children(recursive=True)]


@NEEDS_OPENSSL
def test_nothing_listens_to_every_network(certificates, cluster):
    address, _, processes = cluster
    tls = Tls(*(certificates / name for name in ("authority.pem", "coordinator.pem",
                                                "coordinator.key")))  # fmt: skip
    list(Cluster(address, tls=tls).run(abs, range(2)))  # the workers are there by now
    heard = [
        where.laddr.ip
        for process in processes
        for one in (
            psutil.Process(process.pid),
            *psutil.Process(process.pid).children(recursive=True),
        )
        for where in one.net_connections("inet")
        if where.status == psutil.CONN_LISTEN
    ]

    assert len(heard) >= 5  # a scheduler, two workers, two that watch them
    assert set(heard) == {"127.0.0.1"}


def test_settings_that_the_page_names_exist():
    known = {f"{PREFIX}{name}".upper() for name in Settings.model_fields}
    named = set(re.findall(r"\bROOTBOUND_[A-Z_]+\b", PAGE))

    assert named
    assert named <= known


def test_units_and_page_speak_of_the_same_ports_and_folder():
    compute = (HOST / "rootbound-compute.service").read_text("utf-8")
    scheduler = (HOST / "rootbound-scheduler.service").read_text("utf-8")

    assert "--worker-port 9100:9199 --nanny-port 9200:9299" in compute
    assert PAGE.count("9100-9299") == 2
    assert "--port 8786" in scheduler
    assert "| 8786 | coordinator |" in PAGE
    assert "ReadWritePaths=/srv/rootbound" in compute
    assert "RequiresMountsFor=/srv/rootbound" in compute


@pytest.mark.parametrize("unit", ["rootbound-compute.service", "rootbound-scheduler.service"])
def test_who_computes_has_neither_database_nor_secret_and_speaks_in_no_clear(unit):
    text = re.sub(r"^#.*\n", "", (HOST / unit).read_text("utf-8"), flags=re.MULTILINE)

    assert not re.search(r"database-url|secret|rootbound\.env", text)
    assert "DASK_DISTRIBUTED__COMM__REQUIRE_ENCRYPTION=True" in text
    assert "LoadCredential=key:/etc/rootbound/cluster/host.key" in text
    for wall in ("ProtectSystem=strict", "NoNewPrivileges=yes", "CapabilityBoundingSet=\n"):
        assert wall in text
