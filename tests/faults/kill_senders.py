"""Senders killed with SIGKILL in the middle of their work, and what arrived all the same.

A table, on SQLite and (under ``deploy/with-postgres``) on PostgreSQL:

    PYTHONPATH=fixtures:tests deploy/with-postgres .venv/bin/python tests/faults/kill_senders.py
"""

from __future__ import annotations

import argparse
import asyncio
import json
import subprocess
import sys
import threading
import time
from collections import Counter
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import Engine

from loopback.mailbox import Mailbox
from rootbound_service.channels.email import Letterhead, message_id
from rootbound_service.clock import SystemClock
from rootbound_service.records import OutboxMessage
from rootbound_service.store.engine import make_engine, migrate
from rootbound_service.store.outbox import counts, enqueue

SENDER = Path(__file__).with_name("killable_sender.py")
LONGEST_S = 300.0
"""After this long without an end something is wrong. [s]"""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is tried: so many messages, senders at once, kills, the lease and the wait. [s]"""

    messages: int = 600
    senders: int = 4
    kills: int = 40
    lease_s: float = 6.0
    answer_s: float = 0.0
    """How long the peer, having kept a letter, takes to say so: there a kill makes a double."""
    too_early: bool = False
    """A control: marked before it is sent, which loses messages."""
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Outcome:
    """What arrived, counted at the receiving end by Message-ID."""

    kills: int
    arrived: int
    lost: int
    doubles: int
    recognisable: int
    """Doubles that are the same letter, byte for byte."""
    strangers: int
    """Letters with a Message-ID that no message of ours has."""
    sent: int
    """Messages that the outbox says were sent."""
    seconds: float


class SlowMailbox(Mailbox):
    """A mailbox that keeps a letter at once and acknowledges it later.

    Parameters
    ----------
    answer_s
        How much later. [s]
    """

    def __init__(self, answer_s: float) -> None:
        super().__init__()
        self._answer_s = answer_s

    async def handle_DATA(self, *given: Any) -> str:  # noqa: N802 - named by aiosmtpd
        answer = await super().handle_DATA(*given)
        await asyncio.sleep(self._answer_s)
        return answer


def run(engine: Engine, plan: Plan) -> Outcome:
    """Fill the outbox, send from several processes, kill one each time some more have arrived.

    Parameters
    ----------
    engine
        A database with all tables and no messages.
    plan
        What is tried.
    """
    keys = [f"note-{one}" for one in range(plan.messages)]
    with engine.begin() as conn:
        enqueue(conn, [_message(key) for key in keys])
    begun, rng = time.monotonic(), Random(plan.seed)
    url = engine.url.render_as_string(hide_password=False)
    with SlowMailbox(plan.answer_s) as mailbox:
        told = {"url": url, "port": mailbox.port, "lease_s": plan.lease_s}
        order = json.dumps(told | {"too_early": plan.too_early}) + "\n"
        running = [_start(order) for _ in range(plan.senders)]
        kills = 0
        try:
            while kills < plan.kills:
                due = (kills + 1) * plan.messages / (plan.kills + 1)
                _wait_for(mailbox, due, begun)
                victim = running.pop(rng.randrange(len(running)))
                kills += _kill(victim)
                running.append(_start(order))
            for one in running:
                one.wait(timeout=LONGEST_S)
                assert one.returncode == 0, f"a sender ended with {one.returncode}"
        finally:
            for one in running:
                _kill(one)
        letters = [letter.raw for letter in mailbox.received]
        ids = [str(letter.mail["Message-ID"]) for letter in mailbox.received]
    with engine.connect() as conn:
        sent = counts(conn)["sent"]
    return _outcome(keys, ids, letters, kills, sent, time.monotonic() - begun)


def _outcome(
    keys: list[str], ids: list[str], letters: list[bytes], kills: int, sent: int, seconds: float
) -> Outcome:
    expected = {message_id(key, Letterhead("alerts@rootbound.example")) for key in keys}
    times, different = Counter(ids), len(set(zip(ids, letters, strict=True)))
    return Outcome(
        kills=kills,
        arrived=len(expected & set(ids)),
        lost=len(expected - set(ids)),
        doubles=len(ids) - len(times),
        recognisable=len(ids) - different,
        strangers=len(set(ids) - expected),
        sent=sent,
        seconds=seconds,
    )


def _message(key: str) -> OutboxMessage:
    now = SystemClock().now()
    return OutboxMessage(
        dedupe_key=key,
        kind="note",
        channel="email",
        person_id=None,
        to_address=f"{key}@holt.example",
        to_name="Maren Holt",
        subject="Tight: Long Acre",
        text=f"Long Acre is tight ({key}).\n",
        html="",
        images={},
        created_at=now,
        available_at=now,
        not_after=now + timedelta(hours=36),
    )


def _start(order: str) -> subprocess.Popen[str]:
    """Start a sender and wait until it is about to send: a kill before that would prove nothing."""
    pipe = subprocess.PIPE
    process = subprocess.Popen(
        [sys.executable, "-W", "error", str(SENDER)], stdin=pipe, stdout=pipe, text=True
    )
    assert process.stdin
    assert process.stdout
    process.stdin.write(order)
    process.stdin.close()
    while (line := process.stdout.readline()) != "ready\n":
        assert line, "a sender ended before it was ready"
    return process


def _kill(process: subprocess.Popen[str]) -> bool:
    """Kill a sender with SIGKILL; False if it had ended by itself."""
    alive = process.poll() is None
    process.kill()
    process.wait()
    if process.stdout:
        process.stdout.close()
    return alive


def _wait_for(mailbox: Mailbox, letters: float, begun: float) -> None:
    """Wait until so many letters have come in."""
    pause = threading.Event()  # never set: a breath between two looks
    while len(mailbox.received) < letters:
        assert time.monotonic() - begun < LONGEST_S, "the senders came to a stand"
        pause.wait(0.001)


def main() -> None:
    """Print the table."""
    from conftest import POSTGRES  # of the tests; needed for the script alone
    from tables import a_schema

    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--messages", type=int, default=Plan().messages)
    asked.add_argument("--kills", type=int, default=Plan().kills)
    given = asked.parse_args()
    print(
        "database    answer-ms messages senders kills arrived lost doubles same-bytes marked-sent "
        "seconds",
        flush=True,
    )
    usual = Plan(messages=given.messages, kills=given.kills)
    control = replace(usual, too_early=True)
    for plan in (usual, replace(usual, answer_s=0.05), control):
        if plan.too_early:
            print("the wrong way round, as a control: marked, then sent")
        with TemporaryDirectory() as folder:
            _row("SQLite", f"sqlite:///{folder}/rootbound.db", plan)
        if POSTGRES:
            with a_schema(POSTGRES) as url:
                _row("PostgreSQL", url, plan)


def _row(name: str, url: str, plan: Plan) -> None:
    engine = make_engine(url)
    migrate(engine)
    one = run(engine, plan)
    engine.dispose()
    print(
        f"{name:11} {1000 * plan.answer_s:9.0f} {plan.messages:8} {plan.senders:7} {one.kills:5} "
        f"{one.arrived:7} {one.lost:4} {one.doubles:7} {one.recognisable:10} {one.sent:11} "
        f"{one.seconds:7.0f}",
        flush=True,
    )


if __name__ == "__main__":
    main()
