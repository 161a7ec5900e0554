"""A sweep gives the same parts wherever it runs, goes on where it was stopped, and loses none."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from itertools import count
from pathlib import Path
from threading import Event

import numpy as np
import pytest

from rootbound_service.errors import RefusedInput, ServiceError
from rootbound_service.sweep.cluster import Cluster
from rootbound_service.sweep.executors import InProcess, Processes
from rootbound_service.sweep.parts import Parts
from rootbound_service.sweep.run import Cancelled, Progress, parts_of, sweep
from service.sweep.jobs import AlwaysDies, Dies, Fails, Waves

EXECUTORS = {
    "in process": InProcess,
    "processes": lambda: Processes(2),
    "cluster": lambda: Cluster(workers=2),
}


def clock():
    """Seconds that go on by one a look."""
    ticks = count()
    return lambda: float(next(ticks))


def swept(job, folder, executor):
    sweep(job, folder, executor, clock())
    return [
        {name: array.tobytes() for name, array in part.items()} for part in parts_of(job, folder)
    ]


@pytest.fixture(params=EXECUTORS, ids=list(EXECUTORS))
def executor(request):
    return EXECUTORS[request.param]()


def test_the_parts_are_the_same_to_the_bit_wherever_they_are_computed(tmp_path, executor):
    job = Waves(9)
    here = [{name: array.tobytes() for name, array in job.compute(n).items()} for n in range(9)]

    assert swept(job, tmp_path, executor) == here


def test_a_worker_killed_midway_changes_nothing(tmp_path):
    plain = swept(Waves(9), tmp_path / "plain", InProcess())
    for name, made in (("processes", Processes(2)), ("cluster", Cluster(workers=2))):
        job = Dies(9, mark=str(tmp_path / f"{name}.died"))
        assert swept(job, tmp_path / name, made) == plain
        assert (tmp_path / f"{name}.died").exists()


def test_a_chunk_that_no_worker_survives_ends_the_sweep_with_what_to_do(tmp_path):
    with pytest.raises(ServiceError, match="memory that ran out"):
        sweep(AlwaysDies(4), tmp_path, Processes(2), clock())


def test_a_chunk_that_cannot_be_computed_is_raised(tmp_path, executor):
    with pytest.raises(ZeroDivisionError, match="chunk 2"):
        sweep(Fails(5), tmp_path, executor, clock())


def test_a_sweep_goes_on_where_it_was_stopped(tmp_path):
    job, told = Waves(10), []
    with pytest.raises(Cancelled, match="4 of 10"):
        sweep(job, tmp_path, InProcess(), clock(), cancelled=iter([0, 0, 0, 1]).__next__)
    stamps = {n: Parts(tmp_path, job.fingerprint).path(n).stat().st_mtime_ns for n in range(4)}
    sweep(job, tmp_path, InProcess(), clock(), told.append)

    assert [one.done for one in told] == [5, 6, 7, 8, 9, 10]
    assert {one.before for one in told} == {4}
    for number, stamp in stamps.items():
        assert Parts(tmp_path, job.fingerprint).path(number).stat().st_mtime_ns == stamp
    assert len(list(parts_of(job, tmp_path))) == 10


def test_a_sweep_that_is_done_computes_nothing(tmp_path):
    sweep(Waves(3), tmp_path, InProcess(), clock())
    told = []
    sweep(Waves(3), tmp_path, InProcess(), clock(), told.append)
    assert told == []


def test_parts_of_another_job_are_not_taken_for_this_ones(tmp_path):
    sweep(Waves(3, seed=1), tmp_path, InProcess(), clock())
    with pytest.raises(ServiceError, match="3 of 3 parts are missing"):
        list(parts_of(Waves(3, seed=2), tmp_path))
    sweep(Waves(3, seed=2), tmp_path, InProcess(), clock())

    found = next(parts_of(Waves(3, seed=2), tmp_path))
    assert np.array_equal(found["sums"], Waves(3, seed=2).compute(0)["sums"])


def test_a_worker_of_a_job_that_was_begun_anew_writes_nothing(tmp_path):
    old = Parts(tmp_path, "old")
    old.begin()
    Parts(tmp_path, "new").begin()
    with pytest.raises(ServiceError, match="another job"):
        old.write(0, {"a": np.zeros(1)})
    assert list(tmp_path.glob("*.npz")) == []


def test_a_part_that_is_not_whole_is_told_and_computed_again(tmp_path):
    job = Waves(3)
    sweep(job, tmp_path, InProcess(), clock())
    path = Parts(tmp_path, job.fingerprint).path(1)
    path.write_bytes(path.read_bytes()[:100])
    with pytest.raises(ServiceError, match="is not whole"):
        list(parts_of(job, tmp_path))
    sweep(job, tmp_path, InProcess(), clock())

    assert len(list(parts_of(job, tmp_path))) == 3


def test_what_a_killed_writer_left_is_taken_away(tmp_path):
    job = Waves(2)
    sweep(job, tmp_path, InProcess(), clock())
    left = tmp_path / "00000001-77-abc.passing"
    left.write_bytes(b"half")
    sweep(job, tmp_path, InProcess(), clock())
    assert not left.exists()


def test_a_disk_that_fills_leaves_no_part_that_looks_whole(tmp_path, monkeypatch):
    parts = Parts(tmp_path, "one")
    parts.begin()

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("rootbound_service.sweep.parts.np.savez", full)
    with pytest.raises(OSError, match="No space"):
        parts.write(0, {"a": np.zeros(1)})
    assert [path.name for path in tmp_path.iterdir()] == ["job"]


def test_the_time_left_is_the_pace_of_this_sweep():
    assert Progress(4, 10, 2, 6.0).left_s == 18.0
    assert Progress(2, 10, 2, 0.0).left_s is None


def test_a_scheduler_with_tls_needs_certificates():
    with pytest.raises(RefusedInput, match="authority, certificate and key"):
        Cluster("tls://cluster.example:8786")


def test_workers_log_as_whoever_started_them(tmp_path):
    words = (
        "import sys; from pathlib import Path; from service.sweep.jobs import Says;"
        "from rootbound_service.logs import log_to_stderr;"
        "from rootbound_service.sweep.executors import Processes;"
        "from rootbound_service.sweep.run import sweep;"
        "log_to_stderr(whole=True, form='json');"
        "sweep(Says(3), Path(sys.argv[1]), Processes(2), lambda: 0.0)"
    )
    env = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    said = subprocess.run(
        [sys.executable, "-c", words, str(tmp_path)], env=env, text=True, check=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    ).stdout  # fmt: skip

    assert sorted(json.loads(line)["number"] for line in said.splitlines()) == [0, 1, 2]


def test_workers_leave_when_the_coordinator_is_killed(tmp_path):
    words = (
        "import sys; from pathlib import Path; from service.sweep.jobs import Hangs;"
        "from rootbound_service.sweep.executors import Processes;"
        "from rootbound_service.sweep.run import sweep;"
        "folder = Path(sys.argv[1]);"
        "sweep(Hangs(4, folder=str(folder)), folder / 'parts', Processes(2), lambda: 0.0)"
    )
    env = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    begun = subprocess.Popen([sys.executable, "-c", words, str(tmp_path)], env=env)
    try:
        until(lambda: len(list(tmp_path.glob("*.has"))) == 2)
    finally:
        begun.kill()
        begun.wait()
    workers = [int(path.stem) for path in tmp_path.glob("*.has")]
    until(lambda: not any(Path(f"/proc/{pid}/cmdline").exists() for pid in workers))


def until(holds):
    """Wait for something, half a minute at the most."""
    for _ in range(300):
        if holds():
            return
        Event().wait(0.1)
    raise AssertionError
