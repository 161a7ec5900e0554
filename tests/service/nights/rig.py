"""A whole service on this machine: a sky that can fail, a mailbox, a clock, invented fields."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

from loopback.mailbox import Mailbox
from loopback.plays import FilePlay
from loopback.power_server import PowerServer
from rootbound_service.clock import SetClock
from rootbound_service.nights.parts import NightReport
from rootbound_service.nights.weather_state import bring
from rootbound_service.public.http import Patience
from rootbound_service.records import DigRecord, FieldRecord, Person, RiskRecord, SoilRecord
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_dig, add_field, find_field
from rootbound_service.store.outbox import counts
from rootbound_service.store.risk import notes_between, risk_history
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker.ticks import digest_tick, night_tick, send_tick
from rootbound_service.worker.weather_ticks import past_tick
from tables import put_tables

YEAR, HISTORY_YEARS = 2026, 3
SPRING, SUMMER = date(YEAR, 6, 1), date(YEAR, 7, 6)
"""A night on which the crop is up and has water; one on which two dry weeks have told."""
SMALL_HOURS, MORNING = time(9, 30), time(14, 10)
POWER_ONLY = Path(__file__).parents[3] / "fixtures" / "orders" / "power_only.toml"
SOAKING = (timedelta(days=1), timedelta(days=2))
OPERATOR = "operator@rootbound.example"
MAREN = Person("Maren Holt", "maren@alder.example", "grower", "us", "America/Chicago")
TOBIAS = Person("Tobias Reyl", "tobias@alder.example", "grower", "metric", "America/Chicago")
INES = Person("Ines Varga", "ines@alder.example", "adviser", "us", "America/Chicago")
SOUTH, NORTH = (41.62, -94.92), (42.08, -94.36)
"""Two places in two weather cells."""


def seasons(
    dry_from: date | None, dry_to: date, years: int = HISTORY_YEARS, soaking_mm: float = 0.0
) -> FilePlay:
    """Play 24 mm of rain every fourth day, and none over a hot spell of the last year.

    Two of the three past years had a milder one, so that the outlook sees it come; the spell
    of the last year may end with two days of soaking rain.
    """
    table: dict[date, Mapping[str, float]] = {}
    day = date(YEAR - years, 1, 1)
    while day.year <= YEAR:
        past = day.year < YEAR and day.year % 2 == 1 and (7, 1) <= (day.month, day.day) <= (7, 28)
        dry = past or (dry_from is not None and dry_from <= day <= dry_to)
        warm = 27.0 if 4 < day.month < 10 else 9.0
        table[day] = {
            "tmax_c": warm + 6.0 * dry,
            "tmin_c": warm - 12.0 + 4.0 * dry,
            "rain_mm": 0.0 if dry or day.toordinal() % 4 else 24.0,
            "solar_mj": 18.0 + 5.0 * dry,
            "dewpoint_c": warm - 11.0,
            "wind_m_s": 2.4,
        }
        if dry_from is not None and day - dry_to in SOAKING:
            table[day] = dict(table[day]) | {"rain_mm": max(soaking_mm, table[day]["rain_mm"])}
        day += timedelta(days=1)
    return FilePlay(table, 340.0)


DRY = seasons(date(YEAR, 6, 25), date(YEAR, 8, 4))
WET = seasons(None, date(YEAR, 8, 4))


def a_field(name: str, place: tuple[float, float] = SOUTH, **changes: object) -> FieldRecord:
    """Give the usual field, not stored: loam, dug in May, wall class 2."""
    usual = FieldRecord(
        name=name,
        lat=place[0],
        lon=place[1],
        elevation_m=340.0,
        row_spacing_cm=76.2,
        time_zone="America/Chicago",
        grower=MAREN,
        adviser=INES,
        soil=SoilRecord(texture="loam", organic_matter_pct=3.0),
        crop="maize",
        planted=date(YEAR, 4, 28),
        black_layer_gdd_f=2650.0,
        seed_depth_cm=5.0,
        digs=(DigRecord(date(YEAR, 5, 28), 2, plants=5, crossing=20, held=30),),
    )
    return replace(usual, **changes)


class Rig:
    """The service and what stands around it."""

    def __init__(self, service: Service, clock: SetClock, sky: PowerServer, box: Mailbox) -> None:
        self.service, self.clock, self.sky, self.box = service, clock, sky, box

    def enrol(self, *fields: FieldRecord) -> None:
        with self.service.engine.begin() as conn:
            for field in fields:
                add_field(conn, field)

    def dig(self, name: str, card: DigRecord) -> None:
        with self.service.engine.begin() as conn:
            add_dig(conn, find_field(conn, name).season_id, card)

    def at(self, day: date, hour: time = SMALL_HOURS) -> None:
        self.sky.today = day
        self.clock.set(datetime.combine(day, hour, UTC))

    def night(self, day: date) -> NightReport:
        """Run a night whether it was run or not."""
        self.at(day)
        return self.service.nightly(day)

    def bring(self, day: date) -> None:
        """Bring weather and past years, as before a first night: without them is no outlook."""
        self.at(day)
        assert bring(self.service.parts, day, past=True, progress=None).came

    def nights(self, first: date, last: date) -> list[NightReport]:
        """Let the worker's own ticks run every night of a span, the past being there."""
        self.bring(first)
        found: list[NightReport] = []
        for step in range((last - first).days + 1):
            self.at(first + timedelta(days=step))
            past_tick(self.service)
            report = night_tick(self.service)
            assert report is not None
            found.append(report)
        return found

    def send(self) -> int:
        """Send what waits, in the morning if it is still night: nobody is woken."""
        self.clock.set(max(self.clock.now(), datetime.combine(self.clock.now(), MORNING, UTC)))
        return send_tick(self.service)

    def digest(self) -> int:
        return digest_tick(self.service)

    def rows(self, name: str) -> list[RiskRecord]:
        with self.service.engine.connect() as conn:
            return risk_history(conn, find_field(conn, name).season_id)

    def row(self, name: str) -> RiskRecord:
        return self.rows(name)[-1]

    def notes(self):
        with self.service.engine.connect() as conn:
            return notes_between(conn, date(YEAR, 1, 1), date(YEAR, 12, 31))

    def outbox(self) -> dict[str, int]:
        with self.service.engine.connect() as conn:
            return counts(conn)

    def text_to(self, address: str) -> str:
        """Words of the last letter to an address."""
        body = self.box.to(address)[-1].mail.get_body(("plain",))
        assert body is not None
        return body.get_content()

    def subjects(self, address: str) -> list[str]:
        return [str(letter.mail["Subject"]) for letter in self.box.to(address)]


@contextmanager
def a_rig(folder: Path, play: FilePlay, **settings: str) -> Iterator[Rig]:
    """Open a service in a folder; nothing asks twice, nothing waits."""
    clock = SetClock(datetime.combine(SPRING, SMALL_HOURS, UTC))
    put_tables(folder)
    with Mailbox() as box, PowerServer(play, SPRING) as sky:
        env = {
            "ROOTBOUND_DATA_DIR": str(folder),
            "ROOTBOUND_SMTP_HOST": box.host,
            "ROOTBOUND_SMTP_PORT": str(box.port),
            "ROOTBOUND_MAIL_FROM": "watch@rootbound.example",
            "ROOTBOUND_OPERATOR_EMAIL": OPERATOR,
            "ROOTBOUND_SOURCES_FILE": str(POWER_ONLY),
            "ROOTBOUND_NASA_POWER_URL": sky.url,
            "ROOTBOUND_HISTORY_YEARS": str(HISTORY_YEARS),
            "ROOTBOUND_HTTP_TIMEOUT_S": "1",
        } | settings
        patience = Patience(timeout_s=1, retries=0, backoff_s=0, backoff_jitter_s=0)
        with open_service(load_settings(env), clock, patience) as service:
            yield Rig(service, clock, sky, box)
