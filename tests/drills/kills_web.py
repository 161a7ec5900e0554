"""kill -9 of the web while digs are being taken over the API."""

from __future__ import annotations

import socket
import time
from dataclasses import dataclass, field
from datetime import timedelta
from random import Random
from threading import Thread

import requests
from sqlalchemy import func, select

from drills.held import Tally
from drills.processes import Running, pause, until
from drills.world import MORNING, NIGHT, Place, World, at
from rootbound_service.store.api_tokens import new_token
from rootbound_service.store.fields import list_fields
from rootbound_service.store.schema import audit, dig, kept_answer, member

DIGS = 8
"""Cards that are sent, one after the other, by a client that asks again until it is answered."""
GIVEN_UP = timedelta(minutes=3)


@dataclass(slots=True)
class Client:
    """A program that sends digs, each under a key of its own."""

    place: Place
    token: str
    field_id: int
    port: int = 0
    answered: dict[str, int] = field(default_factory=dict)
    """Number of the dig, by key: what the client was told is kept."""
    retried: int = 0

    def send(self, number: int) -> bool:
        """Send one card once; whether it was answered."""
        url = f"http://127.0.0.1:{self.port}/api/v1/fields/{self.field_id}/digs"
        head = {"Authorization": f"Bearer {self.token}", "Idempotency-Key": f"card-{number}"}
        card = {"date": "2026-07-10", "wall_class": number % 4, "note": f"card {number}"}
        try:
            told = requests.post(url, json=card, headers=head, timeout=20)
        except requests.RequestException:
            return False
        if told.status_code == 201:
            self.answered[f"card {number}"] = told.json()["id"]
            return True
        if told.status_code != 409:
            raise AssertionError(f"HTTP {told.status_code}: {told.text[:300]}")
        return False

    def send_all(self) -> None:
        """Send every card; what is not answered is left for later."""
        for number in range(DIGS):
            if not self.send(number):
                return


def web(world: World, times: int, seed: int = 3) -> Tally:
    """Kill the web at seeded moments of eight digs, start it again, send on.

    A moment is a dig and a part of the time that one takes: so many are answered.
    """
    tally, rng, begun = Tally("kill web"), Random(seed), time.monotonic()
    each_s = _moment(world, Tally("quiet"), "quiet", None, 0.0)
    for number in range(times):
        moment = rng.uniform(0, DIGS)
        _moment(world, tally, f"{number} at dig {moment:.2f}", moment, each_s)
    tally.notes = [f"{DIGS} digs in each, {each_s * 1000:.0f} ms a dig"]
    tally.seconds = time.monotonic() - begun
    return tally


def _moment(world: World, tally: Tally, name: str, moment: float | None, each_s: float) -> float:
    """Live through one; how long a dig took. [s]"""
    with world.place() as place:
        place.set(at(NIGHT, MORNING))
        client = _client(place)
        serving = _serve(client)
        sending = Thread(target=client.send_all)
        sending.start()
        until(lambda: len(client.answered) >= int(moment or 1) or not sending.is_alive())
        begun = time.monotonic()
        if moment is not None:
            pause(moment % 1 * each_s)
            serving.kill()
        sending.join()
        took, before = time.monotonic() - begun, dict(client.answered)
        if moment is not None:
            place.set(at(NIGHT, MORNING) + GIVEN_UP)
            serving = _serve(client)
            for number in range(DIGS):
                assert client.send(number), f"card {number} is not taken after the next start"
        serving.stop()
        _judge(tally, name, client, before)
        return took / (DIGS - 1)


def _judge(tally: Tally, name: str, client: Client, before: dict[str, int]) -> None:
    place = client.place
    with place.service() as service, service.engine.connect() as conn:
        kept = conn.execute(select(dig.c.id, dig.c.note).where(dig.c.note.like("card %"))).all()
        logged = conn.scalar(select(func.count()).where(audit.c.what == "dig.add"))
        held = conn.scalar(select(func.count()).where(kept_answer.c.status == 0))
    ids = {row.id: row.note for row in kept}
    lost = [one for one, number in before.items() if ids.get(number) != one]
    lost += [f"card {one}" for one in range(DIGS) if f"card {one}" not in ids.values()]
    doubled = len(kept) - len({row.note for row in kept})
    wrong = [f"lost {one}" for one in lost] + ([f"{doubled} digs twice"] if doubled else [])
    wrong += [f"{held} requests still held"] if held else []
    wrong += [f"{logged} changes logged of {len(kept)} digs"] if logged != len(kept) else []
    tally.moments += 1
    tally.hit += len(before) < DIGS
    tally.healed += not wrong
    tally.lost += len(lost)
    tally.doubled += doubled
    tally.wrong += [f"{tally.drill}, {name}: {one}" for one in wrong]


def _client(place: Place) -> Client:
    with place.service() as service, service.engine.begin() as conn:
        one = list_fields(conn, NIGHT)[0]
        row = conn.execute(select(member).where(member.c.role == "adviser")).first()
        assert row
        now = service.clock.now()
        token = new_token(conn, row.account_id, row.person_id, "drill", ("read", "dig"), now, 30)
    return Client(place, token, one.id)


def _serve(client: Client) -> Running:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        client.port = free.getsockname()[1]
    serving = client.place.start("web", "--port", str(client.port))
    until(lambda: _answers(client.port) or not serving.alive)
    assert serving.alive, serving.text
    return serving


def _answers(port: int) -> bool:
    with socket.socket() as line:
        return line.connect_ex(("127.0.0.1", port)) == 0
