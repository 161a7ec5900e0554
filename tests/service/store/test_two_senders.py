"""Two senders in two processes share the outbox: nothing twice, nothing lost."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from sqlalchemy import Engine

from rootbound_service.clock import SetClock
from rootbound_service.records import OutboxMessage
from rootbound_service.store.outbox import counts, enqueue

CLAIMER = Path(__file__).with_name("claimer.py")


def _start(store: Engine, clock: SetClock, me: str, *, sends: bool = True) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-W", "error", str(CLAIMER)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    url = store.url.render_as_string(hide_password=False)
    order = {"url": url, "me": me, "now": clock.now().isoformat(), "sends": sends}
    assert process.stdin
    process.stdin.write(json.dumps(order) + "\n")
    process.stdin.flush()
    return process


def _claims(processes: list[subprocess.Popen[str]]) -> list[list[int]]:
    """Let them all begin once all are ready, and collect what each claimed."""
    for process in processes:
        assert process.stdout
        while (line := process.stdout.readline()) != "ready\n":
            assert line, "a claimer ended before it was ready"
    for process in processes:
        assert process.stdin
        process.stdin.write("go\n")
        process.stdin.flush()
    answers = [process.communicate(timeout=120)[0] for process in processes]
    assert [process.returncode for process in processes] == [0] * len(processes)
    return [json.loads(answer.splitlines()[-1]) for answer in answers]  # the log comes first


def _fill(store: Engine, a_message: Callable[..., OutboxMessage], count: int) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message(dedupe_key=f"note-{one}", images={}) for one in range(count)])


def test_two_senders_at_once_send_every_message_once(
    store: Engine, clock: SetClock, a_message: Callable[..., OutboxMessage]
) -> None:
    _fill(store, a_message, 200)

    one, two = _claims([_start(store, clock, me) for me in ("one", "two")])

    assert len(one) + len(two) == 200
    assert set(one).isdisjoint(two)
    with store.connect() as conn:
        assert counts(conn)["sent"] == 200


def test_what_a_killed_sender_had_in_hand_is_sent_by_the_next(
    store: Engine, clock: SetClock, a_message: Callable[..., OutboxMessage]
) -> None:
    _fill(store, a_message, 20)
    (lost,) = _claims([_start(store, clock, "killed", sends=False)])
    clock.set(clock.now() + timedelta(minutes=11))

    (sent,) = _claims([_start(store, clock, "next")])

    assert len(lost) == 3
    assert set(lost) < set(sent)
    assert sorted(sent) == sorted(set(sent))
    with store.connect() as conn:
        assert counts(conn)["sent"] == 20
