"""A service whose fields are opened, its nights run chunk by chunk or in the usual way."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

from fastapi.testclient import TestClient
from sqlalchemy import delete

from rootbound_service.nights.again import night_again
from rootbound_service.store.accounts import new_account, put_member
from rootbound_service.store.api_tokens import SCOPES, new_token
from rootbound_service.store.fields import add_field
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import season_picture
from rootbound_service.store.season_pictures import keep_picture
from rootbound_service.store.web_sessions import begin_session
from rootbound_service.web.access.reader import PLAIN_COOKIE
from rootbound_service.web.app import make_app
from rootbound_service.web.dressing.desk import Dressing
from service.nights.many.weeks import FIELDS, SEEN, tell
from service.nights.rig import DRY, INES, Rig, a_rig

AGENT, HERE = "a browser", "http://127.0.0.1:8040"
OF_ONE = re.compile(r'(form_token|form_id)" value="[^"]+"|(?<=/notes/)[0-9]+')


class Opened:
    """A service with its application and an adviser who opens fields."""

    def __init__(self, rig: Rig) -> None:
        self.rig, self.service = rig, rig.service
        self.computed: list[str] = []
        with self.service.engine.begin() as conn:
            self.account = new_account(conn, "Varga advice", rig.clock.now())
            adviser = add_person(conn, INES, rig.clock.now())
            put_member(conn, self.account, adviser.id, "adviser")
            self.fields = {
                one.name: add_field(conn, replace(one, account_id=self.account)) for one in FIELDS
            }
            self.adviser = adviser.id
        self.app = make_app(self.service)
        self.desk = self.app.state.desk
        self.dress_with(partial(night_again, self.service.parts))

    def dress_with(self, compute, wait_s: float = 60.0) -> None:
        """Have opened nights computed here, and remember whose."""

        def counted(stored):
            self.computed.append(stored.field.name)
            return compute(stored)

        def keep(stored, packed):
            with self.service.engine.begin() as conn:
                keep_picture(conn, stored.row.season_id, stored.row.night, packed)

        self.desk.dressing.close()
        self.desk.dressing = Dressing(counted, keep, lambda: None, self.service.clock, wait_s)

    def settled(self) -> None:
        """Wait until nothing is being computed or kept."""
        for _ in range(2):  # what is being computed has itself kept after
            self.desk.dressing._pool.submit(int).result()

    def forget(self) -> None:
        """Forget what was computed for opened fields."""
        self.settled()
        with self.service.engine.begin() as conn:
            conn.execute(delete(season_picture))
        self.dress_with(partial(night_again, self.service.parts))

    def live(self, first: date, last: date, step: int) -> None:
        """Live through some nights; the day of the last one follows."""
        for day in range(0, (last - first).days + 1, step):
            tonight = first + timedelta(days=day)
            for name, told in SEEN.items():
                tell(self.rig, name, [one for one in told if 1 <= (tonight - one[1]).days <= step])
            self.rig.night(tonight)

    def clock_on(self, hours: float) -> None:
        """Let time go on."""
        self.rig.clock.set(self.rig.clock.now() + timedelta(hours=hours))

    def browser(self) -> TestClient:
        """Give the adviser's browser."""
        with self.service.engine.begin() as conn:
            key = begin_session(conn, self.adviser, self.service.clock.now(), AGENT)
        found = TestClient(self.app, base_url=HERE, headers={"user-agent": AGENT})
        found.cookies.set(PLAIN_COOKIE, key)
        return found

    def program(self) -> TestClient:
        """Give a program of the adviser's."""
        with self.service.engine.begin() as conn:
            now = self.service.clock.now()
            word = new_token(conn, self.account, self.adviser, "a test", SCOPES, now, 400)
        headers = {"Authorization": f"Bearer {word}"}
        return TestClient(self.app, base_url=f"{HERE}/api/v1", headers=headers)

    def page(self, name: str) -> str:
        """Give a field's page without what is of one showing or store only."""
        answer = self.browser().get(f"/fields/{self.fields[name].id}")
        assert answer.status_code == 200
        return OF_ONE.sub("", answer.text)


@contextmanager
def opened(folder: Path, **settings: str) -> Iterator[Opened]:
    """Enrol the fields and bring their weather."""
    with a_rig(folder, DRY, **settings) as rig:
        found = Opened(rig)
        yield found
        found.desk.dressing.close()
