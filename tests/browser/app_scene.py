"""Two accounts that must not see each other, with computed nights, behind the application."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from io import BytesIO
from ipaddress import IPv4Address
from itertools import count
from pathlib import Path
from typing import Any, Literal

from fastapi import FastAPI
from fastapi.testclient import TestClient
from PIL import Image
from sqlalchemy import Connection, insert, select

from once import copy_of
from rootbound_service.records import (
    AccessRole,
    DigRecord,
    FieldRecord,
    ObservationRecord,
    Person,
    SoilRecord,
)
from rootbound_service.store.accounts import new_account, put_member, put_operator
from rootbound_service.store.digests import keep_page, reserve_digest
from rootbound_service.store.fields import add_dig, add_field
from rootbound_service.store.observations import add_observation
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import dig, photo
from rootbound_service.store.web_sessions import begin_session
from rootbound_service.web.access.reader import PLAIN_COOKIE
from rootbound_service.web.app import make_app
from service.nights.rig import DRY, NORTH, SOUTH, Rig, a_field, a_rig

DRY_NIGHT = date(2026, 7, 8)
"""Two weeks into a dry spell: fields stand on four of the rungs, and three are not dug."""
LOAM = SoilRecord(texture="loam", organic_matter_pct=3.0)
WATERED = SoilRecord(texture="silt loam", organic_matter_pct=3.5, water_table_m=1.3)
"""Soil on which free roots have water in a dry spell as well."""
WHEN = datetime.combine(DRY_NIGHT, time(15, 0), UTC)
AGENT = "a browser"
HERE = "http://127.0.0.1:8040"
_BUFFER = BytesIO()
Image.new("RGB", (2, 2), (90, 60, 40)).save(_BUFFER, "JPEG")
JPEG = _BUFFER.getvalue()
ADDRESSES = count(int(IPv4Address("10.0.0.1")))


def somebody(name: str, mail: str, role: str = "grower", units: str = "us") -> Person:
    return Person(name, f"{mail}@alder.example", role, units, "America/Chicago")  # type: ignore[arg-type]


ADVISER = somebody("Ines Varga", "ines", "adviser")
GROWERS = (
    somebody("Maren Holt", "maren"),
    somebody("Tobias Reyl", "tobias", units="metric"),
    somebody("Odile Brandt", "odile"),
)
VIEWER = somebody("Ferris Quade", "ferris")
OTHER_ADVISER = somebody("Lukas Amsel", "lukas", "adviser")
OTHER_GROWER = somebody("Petra Nystad", "petra")
KEEPER = somebody("Jonna Wirth", "jonna")
NAMES = (
    "Long Acre", "Hollow Bend", "Crane Forty", "Mill Strip", "Stony Rise", "Far Eighty",
    "Willow Piece", "Kiln Ground", "Badger Flat", "Orchard End", "Narrow Neck", "Chapel Side",
)  # fmt: skip
OTHER_FIELD = "Sable Corner"
ACCOUNT, OTHER_ACCOUNT = "Varga advice", "Amsel agronomy"


ROLES: dict[str, tuple[Person, AccessRole | Literal[""]]] = {
    "adviser": (ADVISER, "adviser"),
    "grower": (GROWERS[0], "grower"),
    "viewer": (VIEWER, "viewer"),
    "other adviser": (OTHER_ADVISER, "adviser"),
    "other grower": (OTHER_GROWER, "grower"),
    "operator": (KEEPER, ""),
}


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody who asks, with the key of their session."""

    word: str
    key: str
    role: AccessRole | Literal[""]


class AppScene:
    """The service after a dry spell, its application, and everybody's session."""

    def __init__(self, rig: Rig, known: dict[str, Any] | None = None) -> None:
        self.rig, self.service, self.clock = rig, rig.service, rig.clock
        if known is not None:  # the store has it all
            vars(self).update(known)
            return
        with self.service.engine.begin() as conn:
            self.account, self.other_account = self._accounts(conn)
            self.fields = self._fields(conn)
            self.other = self._other(conn)
            self._people(conn)
            self.photo = self._photo(conn)

    def known(self) -> dict[str, Any]:
        """Give what of the scene is in no store: numbers, records, keys of sessions."""
        names = ("account", "other_account", "fields", "other", "people", "who", "photo")
        return {name: getattr(self, name) for name in names}

    @cached_property
    def app(self) -> FastAPI:
        return make_app(self.service)

    def compute(self) -> None:
        """Run nights of the dry spell, then stand in the day after them."""
        self.rig.nights(DRY_NIGHT - timedelta(days=2), DRY_NIGHT)
        self.rig.send()
        self.clock.set(WHEN)
        with self.service.engine.begin() as conn:
            for word in ("adviser", "grower"):
                one = reserve_digest(conn, self.people[word].id, "2026-W27", DRY_NIGHT, WHEN)
                keep_page(conn, one, f"<html><body><h1>Week 27 of {NAMES[0]}</h1></body></html>")

    def sign_in(self, word: str) -> Who:
        """Give a further session of somebody, whatever was done to them or to their others."""
        with self.service.engine.begin() as conn:
            self._let_in(conn, word)
            key = begin_session(conn, self.people[word].id, self.clock.now(), AGENT)
        return replace(self.who[word], key=key)

    def client(
        self, who: Who | None = None, *, base_url: str = HERE, near: bool = False
    ) -> TestClient:
        """Give a browser of somebody, or of a stranger; always at one address if ``near``."""
        found = TestClient(
            self.app if near else Elsewhere(self.app),  # type: ignore[arg-type]
            base_url=base_url,
            raise_server_exceptions=False,
            follow_redirects=False,
            headers={"user-agent": AGENT},
        )
        if who is not None:
            found.cookies.set(PLAIN_COOKIE, who.key)
        return found

    def _accounts(self, conn: Connection) -> tuple[int, int]:
        return new_account(conn, ACCOUNT, WHEN), new_account(conn, OTHER_ACCOUNT, WHEN)

    def _fields(self, conn: Connection) -> list[FieldRecord]:
        found = list[FieldRecord]()
        for number, name in enumerate(NAMES):
            place = (SOUTH, NORTH)[number % 2]
            record = a_field(
                name,
                (place[0] + number * 0.004, place[1] + number * 0.003),
                account_id=self.account,
                grower=GROWERS[number % 3],
                adviser=ADVISER,
                digs=(),
                irrigated=number == 5,
                planted=date(2026, 4, 20) + timedelta(days=2 * number),
                crop="soybean" if number == 9 else "maize",
                black_layer_gdd_f=None if number == 9 else 2650.0,
                soil=WATERED if number == 8 else LOAM,
            )
            stored = add_field(conn, record, WHEN)
            if number % 4 != 3:
                add_dig(conn, stored.season_id, a_dig(number))
            found.append(stored)
        seen = ObservationRecord("rain", date(2026, 6, 10), 8.0, "Maren Holt", WHEN, form_id="r1")
        add_observation(conn, found[0].season_id, seen)
        leaves = ObservationRecord("rolled", date(2026, 7, 15), 1.0, "Ines Varga", WHEN)
        add_observation(conn, found[0].season_id, replace(leaves, form_id="r2", note="at noon"))
        return found

    def _other(self, conn: Connection) -> FieldRecord:
        record = a_field(
            OTHER_FIELD,
            account_id=self.other_account,
            grower=OTHER_GROWER,
            adviser=OTHER_ADVISER,
            digs=(replace(a_dig(2), by=OTHER_ADVISER.name),),
        )
        return add_field(conn, record, WHEN)

    def _people(self, conn: Connection) -> None:
        self.people = dict[str, Person]()
        self.who = dict[str, Who]()
        for word, (one, role) in ROLES.items():
            self.people[word] = add_person(conn, one, WHEN)
            self.who[word] = Who(word, "", role)
            self._let_in(conn, word)
            key = begin_session(conn, self.people[word].id, WHEN, AGENT)
            self.who[word] = Who(word, key, role)

    def _let_in(self, conn: Connection, word: str) -> None:
        """Make somebody what they are, whatever was done to them since."""
        number, role = self.people[word].id, self.who[word].role
        if role:
            account = self.other_account if word.startswith("other") else self.account
            put_member(conn, account, number, role)
        else:
            put_operator(conn, number)

    def _photo(self, conn: Connection) -> int:
        dig_id = conn.scalar(select(dig.c.id).where(dig.c.season_id == self.fields[0].season_id))
        row = {"dig_id": dig_id, "form_id": "p1", "jpeg": JPEG, "small": JPEG, "added_at": WHEN}
        made = insert(photo).values(**row, width=2, height=2)
        number: int = conn.scalars(made.returning(photo.c.id)).one()
        return number

    @property
    def secrets(self) -> tuple[str, ...]:
        """What nobody outside the first account may read on any page."""
        people = (ADVISER, *GROWERS, VIEWER)
        return (*NAMES, ACCOUNT, *(one.name for one in people), *(one.email for one in people))


class Elsewhere:
    """Lets every request come from another address, so that none is too often."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app

    async def __call__(self, scope, receive, send) -> None:
        if scope["type"] == "http":
            scope = {**scope, "client": (str(IPv4Address(next(ADDRESSES))), 40_000)}
        await self._app(scope, receive, send)


def a_dig(number: int) -> DigRecord:
    """A dig whose furrow wall is worse from field to field."""
    return DigRecord(
        date(2026, 6, 2),
        number % 4,
        plants=5,
        crossing=30 - 6 * (number % 4),
        held=8 * (number % 4),
        pan_class=1 if number == 6 else 0,
        pan_depth_cm=14.0 if number == 6 else None,
        form_id=f"dig-{number}",
        by="Ines Varga",
        note="wet when planted",
        recorded_at=WHEN,
    )


TOKEN_FIELD = re.compile(r'name="form_token" value="([^"]+)"')


def proof_in(html: str) -> str:
    """The hidden proof of a page's forms."""
    found = TOKEN_FIELD.search(html)
    assert found is not None, "there is no form on this page"
    return found[1]


KNOWN = "known.pickle"


@contextmanager
def an_app(folder: Path, *, computed: bool = True, **settings: str) -> Iterator[AppScene]:
    """Open the scene in a folder; it is enrolled, and its nights are computed, once in a run."""
    if computed:
        copy_of("a dry spell of two accounts", _compute, folder)
    else:
        copy_of("two accounts", _enrol, folder)
    known = pickle.loads((folder / KNOWN).read_bytes())  # noqa: S301  (written below)
    with a_rig(folder, DRY, **settings) as rig:
        rig.clock.set(WHEN)
        yield AppScene(rig, known)


def _enrol(folder: Path) -> None:
    """Enrol everybody, and keep beside the store what the scene needs to know of them."""
    with a_rig(folder, DRY) as rig:
        rig.clock.set(WHEN)
        (folder / KNOWN).write_bytes(pickle.dumps(AppScene(rig).known()))


def _compute(folder: Path) -> None:
    """Compute the nights of those who were enrolled."""
    with an_app(folder, computed=False) as scene:
        scene.compute()
