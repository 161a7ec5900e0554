"""The outside world of the drills, and the small service whose nights are disturbed in it.

The demo's fields, digs and invented weather; its base is made once and every moment of every
drill begins from a copy.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

from demo.scenario import enrol_fields, make_dig, planned_digs
from drills.processes import Nursery, Running
from faults.kill_senders import SlowMailbox
from loopback.climate import ClimatePlay
from loopback.public_server import PublicServer
from rootbound_service.clock import SetClock
from rootbound_service.settings import load_settings
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker.ticks import night_tick, send_tick
from rootbound_service.worker.weather_ticks import past_tick

YEAR, YEARS = 2026, 10
EVE, NIGHT = date(YEAR, 7, 7), date(YEAR, 7, 14)
"""The night that everything is copied after, and the night that is disturbed; no digest is due."""
SMALL_HOURS, MORNING = time(9, 30), time(13, 10)
"""By UTC; the night is run then, and the letters of the morning go."""
LEASE_OVER = timedelta(minutes=16)
ANSWER_S = 0.1
"""How long the relay, having kept a letter, takes to say so: there a kill makes a double."""


def at(night: date, hour: time) -> datetime:
    """A moment of a night, by UTC."""
    return datetime.combine(night, hour, UTC)


@dataclass(slots=True)
class World:
    """What stands for the outside, and where the base lies."""

    sky: PublicServer
    box: SlowMailbox
    nursery: Nursery
    folder: Path
    server: str = ""
    """URL of a PostgreSQL database; empty: SQLite."""
    made: int = 0
    env: dict[str, str] = field(default_factory=dict)

    @property
    def base(self) -> Path:
        """The data folder that is copied."""
        return self.folder / "base"

    @contextmanager
    def place(self, of: Place | None = None) -> Iterator[Place]:
        """A copy of the base, or of another place, to be disturbed; gone afterwards."""
        from drills.databases import a_copy

        self.made += 1
        folder = self.folder / f"place-{os.getpid()}-{self.made}"
        shutil.copytree(of.folder if of else self.base, folder)
        self.box.received.clear()
        self.sky.faults.clear()
        with a_copy(self.server, folder) as url:
            place = Place(self, folder, url)
            place.set(at(NIGHT, SMALL_HOURS))
            try:
                yield place
            finally:
                shutil.rmtree(folder, ignore_errors=True)


@dataclass(slots=True)
class Place:
    """One service: its data folder, its database, the hour its clock stands at."""

    world: World
    folder: Path
    url: str
    extra: dict[str, str] = field(default_factory=dict)

    @property
    def clock(self) -> Path:
        """The file that every process of it reads the time from."""
        return self.folder / "clock.txt"

    @property
    def env(self) -> dict[str, str]:
        """The settings of its processes."""
        own = {"ROOTBOUND_DATA_DIR": str(self.folder), "ROOTBOUND_DATABASE_URL": self.url}
        return self.world.env | own | self.extra

    @property
    def now(self) -> datetime:
        """The hour its clock stands at."""
        return datetime.fromisoformat(self.clock.read_text(encoding="ascii"))

    def set(self, moment: datetime) -> None:
        """Set its clock, and the outside world's."""
        part = self.clock.with_suffix(".part")
        part.write_text(moment.isoformat(), encoding="ascii")
        part.replace(self.clock)
        self.world.sky.now = moment

    def start(self, *command: str, **more: str) -> Running:
        """Start a process of it; it is not waited for."""
        return self.world.nursery.start(self.clock, command, self.env | more)

    @contextmanager
    def service(self) -> Iterator[Service]:
        """Open it in this process, at the hour its clock stands at."""
        settings = {k: v for k, v in self.env.items() if not k.startswith("DRILL")}
        with open_service(load_settings(settings), SetClock(self.now)) as service:
            yield service


@contextmanager
def a_world(
    folder: Path, server: str = "", answer_s: float = ANSWER_S, years: int = YEARS
) -> Iterator[World]:
    """Start the stand-ins and make the base, unless the folder has it already."""
    play = ClimatePlay({YEAR: "dry_july"})
    with Nursery() as nursery, SlowMailbox(answer_s) as box, PublicServer(play, EVE) as sky:
        world = World(sky, box, nursery, folder, server)
        world.env = {
            "ROOTBOUND_SMTP_HOST": box.host,
            "ROOTBOUND_SMTP_PORT": str(box.port),
            "ROOTBOUND_MAIL_FROM": "watch@rootbound.example",
            "ROOTBOUND_OPERATOR_EMAIL": "operator@rootbound.example",
            "ROOTBOUND_BASE_URL": "https://rootbound.example",
            "ROOTBOUND_SECRET": "of the drills: its links are the same in every run",
            "ROOTBOUND_HISTORY_YEARS": str(years),
        } | sky.env
        if not world.base.exists():
            make_base(world)
        yield world


def make_base(world: World) -> None:
    """Enrol the demo's fields, make its digs, run one night and send its letters."""
    folder = world.folder / "begun"
    place = Place(world, folder, f"sqlite:///{folder / 'rootbound.db'}")
    folder.mkdir(parents=True)
    place.set(at(EVE, SMALL_HOURS))
    with place.service() as service:
        enrol_fields(service, EVE)
        for day, digs in sorted(planned_digs().items()):
            for planned in digs if day <= EVE else ():
                make_dig(service, planned, EVE)
        while past_tick(service):
            pass
        night_tick(service)
    place.set(at(EVE, MORNING))
    with place.service() as service:
        send_tick(service)
    folder.rename(world.base)
