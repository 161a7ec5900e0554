"""A PostgreSQL server of our own, with the durability of its defaults, to be stopped at will."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

OWNER = "postgres"


@dataclass(frozen=True, slots=True)
class Cluster:
    """The server: where it lies, and how it is reached."""

    folder: Path
    port: int

    @property
    def url(self) -> str:
        return f"postgresql+psycopg://rootbound@127.0.0.1:{self.port}/postgres"

    def start(self) -> None:
        options = f"-h 127.0.0.1 -p {self.port} -k {self.folder}"
        self._control("start", "-l", str(self.folder / "server.log"), "-o", options)

    def stop(self) -> None:
        """Stop it as a failing host would: no checkpoint, no word to who is connected."""
        self._control("stop", "-m", "immediate")

    def _control(self, what: str, *more: str) -> None:
        data = str(self.folder / "data")
        said = _as_owner("pg_ctl", "-D", data, "-w", what, *more, folder=self.folder)
        if said.returncode:
            raise RuntimeError(f"pg_ctl {what}: {(self.folder / 'server.log').read_text()[-800:]}")


@contextmanager
def a_cluster() -> Iterator[Cluster]:
    """Make a server and start it; every trace of it is gone afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="rootbound-cluster-"))
    if os.getuid() == 0:
        shutil.chown(folder, OWNER)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        cluster = Cluster(folder, free.getsockname()[1])
    made = ("-D", str(folder / "data"), "-U", "rootbound", "-A", "trust", "-E", "UTF8")
    said = _as_owner("initdb", *made, "--locale=C", folder=folder)
    if said.returncode:
        raise RuntimeError("initdb failed")
    cluster.start()
    try:
        yield cluster
    finally:
        if (folder / "data" / "postmaster.pid").exists():
            cluster.stop()
        shutil.rmtree(folder, ignore_errors=True)


def found() -> bool:
    """Whether a server can be made here."""
    return shutil.which("initdb") is not None or bool(_folders())


def _folders() -> list[Path]:
    return sorted(Path("/usr/lib/postgresql").glob("*/bin"))


def _as_owner(name: str, *more: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    folders = _folders()
    program = str(folders[-1] / name) if folders else name
    own = ["runuser", "-u", OWNER, "--"] if os.getuid() == 0 else []  # the server refuses root
    to = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    return subprocess.run([*own, program, *more], cwd=folder, check=False, **to)
