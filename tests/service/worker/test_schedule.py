"""The worker's own loop: it asks at once, ends when told, and is alone on its data folder."""

from __future__ import annotations

import signal
import threading
from datetime import date

import pytest

from rootbound_service.errors import ServiceError
from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.worker.schedule import JOBS, Job, one_worker, run_scheduler
from service.nights.rig import WET, YEAR, a_field, a_rig

MONDAY = date(YEAR, 6, 15)


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, WET) as made:
        made.at(MONDAY)
        yield made


def test_with_a_stopped_clock_the_worker_runs_the_night_once_and_ends_when_told(rig):
    rig.enrol(a_field("Long Acre"))
    stop = threading.Event()
    night, send = (next(job for job in JOBS if job.name == name) for name in ("night", "send"))

    def twice_then_stop(service):
        try:
            assert night.tick(service) is not None
            assert night.tick(service) is None
        finally:
            stop.set()

    run_scheduler(rig.service, stop, (Job("night", twice_then_stop, 600, "compute"), send))

    assert [row.night for row in rig.rows("Long Acre")] == [MONDAY]
    assert not [one for one in threading.enumerate() if one.name.startswith("APScheduler")]


def test_night_and_letters_never_run_at_the_same_time(rig):
    stop, inside, seen = threading.Event(), threading.Lock(), []

    def alone(name):
        def tick(_service):
            seen.append((name, inside.acquire(blocking=False)))
            inside.release()
            if len(seen) == 2:
                stop.set()

        return tick

    jobs = [Job(name, alone(name), 600, "compute") for name in ("night", "digest")]
    run_scheduler(rig.service, stop, jobs)

    assert sorted(seen) == [("digest", True), ("night", True)]
    apart = {"send", "watch"}  # a long night keeps neither letters nor its own watch waiting
    assert {job.lane for job in JOBS if job.name not in apart} == {"compute"}
    assert {job.name: job.lane for job in JOBS if job.name in apart} == {
        "send": "send",
        "watch": "watch",
    }


def test_a_tick_that_fails_does_not_end_the_worker(rig):
    stop, ran = threading.Event(), []

    def fails(_service):
        ran.append("night")
        if len(ran) == 2:
            stop.set()
        raise ValueError("this once")

    def goes_on(_service):
        ran.append("digest")
        if len(ran) == 2:
            stop.set()

    jobs = [Job("night", fails, 600, "compute"), Job("digest", goes_on, 600, "compute")]
    run_scheduler(rig.service, stop, jobs)

    assert sorted(ran) == ["digest", "night"]
    with rig.service.engine.connect() as conn:
        seen = {name: one.at for name, one in heartbeats(conn).items()}
    assert seen == {"job digest": rig.service.clock.now()}  # what failed was not seen alive


def test_a_termination_signal_ends_the_worker_and_the_old_handler_is_back(rig):
    before, main = signal.getsignal(signal.SIGTERM), threading.main_thread().ident
    assert main == threading.get_ident()

    def ask(_service):
        signal.pthread_kill(main, signal.SIGTERM)

    run_scheduler(rig.service, None, (Job("night", ask, 600, "compute"),))

    assert signal.getsignal(signal.SIGTERM) is before


def test_a_second_worker_on_the_same_data_folder_is_refused_in_a_sentence(rig):
    data = rig.service.settings.data_dir
    with one_worker(data), pytest.raises(ServiceError) as refused:
        rig.service.run_worker(threading.Event())

    assert str(refused.value) == f"another worker already runs on {data}; stop it first"


def test_when_the_first_worker_has_ended_the_next_may_start(rig):
    data = rig.service.settings.data_dir
    with one_worker(data):
        pass
    with one_worker(data):
        assert (data / "worker.lock").exists()
