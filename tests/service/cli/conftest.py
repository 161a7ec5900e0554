"""The command line on a real store and a service that remembers what it was asked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Protocol

import pytest
from sqlalchemy import Engine
from typer.testing import CliRunner, Result

from rootbound_service.channels.send import SendReport
from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import Clock, SetClock
from rootbound_service.records import DigRecord, FieldRecord, Person, RiskRecord, SoilRecord
from rootbound_service.settings import Settings
from rootbound_service.store.fields import add_field


@dataclass
class Night:
    """What a fake night comes to."""

    fields_ok: int = 3
    fields_failed: int = 0
    notes: int = 1
    messages: int = 2
    failures: tuple[str, ...] = ()
    told: tuple[str, ...] = ()


@dataclass
class FakeService:
    """Stands for the service: its store is real, its work is remembered."""

    engine: Engine
    clock: Clock
    night: Night = field(default_factory=Night)
    sent: SendReport = field(default_factory=SendReport)
    asked: list[object] = field(default_factory=list)
    breaks: BaseException | None = None
    settings: Settings | None = None

    def nightly(self, night: date, progress: Any = None) -> Night:
        return self._do(night, self.night)

    def send(self) -> SendReport:
        return self._do("send", self.sent)

    def digest(self, week: str | None) -> int:
        return self._do(("digest", week), 4)

    def run_worker(self) -> None:
        self._do("worker", None)

    def _do(self, asked: object, answer: Any) -> Any:
        self.asked.append(asked)
        if self.breaks:
            raise self.breaks
        return answer


class Run(Protocol):
    """Runs a command and gives its result."""

    def __call__(self, *args: object) -> Result: ...


@pytest.fixture
def fake(store: Engine, clock: SetClock) -> FakeService:
    return FakeService(store, clock)


@pytest.fixture
def run(fake: FakeService, clock: SetClock, tmp_path, monkeypatch) -> Run:
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ROOTBOUND_DEBUG", raising=False)
    monkeypatch.setenv("COLUMNS", "80")

    @contextmanager
    def opener(settings: Settings, _clock: Clock) -> Iterator[FakeService]:
        fake.settings = settings
        yield fake

    def go(*args: object) -> Result:
        words = [str(arg) for arg in args]
        return CliRunner().invoke(app, words, obj=Session(clock=clock, opener=opener))

    return go


ADA = Person("Ada Quill", "ada@quill.example", "grower", "us", "America/Chicago")


@pytest.fixture
def north() -> FieldRecord:
    """The usual field, not stored."""
    return FieldRecord(
        name="North Forty",
        lat=42.03,
        lon=-93.62,
        elevation_m=310.0,
        row_spacing_cm=76.2,
        time_zone="America/Chicago",
        grower=ADA,
        adviser=Person("Ben Marsh", "ben@marsh.example", "adviser"),
        soil=SoilRecord(texture="silt loam", clay_pct=22.0),
        crop="maize",
        planted=date(2026, 5, 4),
        black_layer_gdd_f=2700.0,
        seed_depth_cm=5.0,
    )


@pytest.fixture
def enrolled(store: Engine, north: FieldRecord) -> FieldRecord:
    """The usual field, stored and dug."""
    card = DigRecord(date(2026, 6, 10), 2, plants=6, crossing=9, held=21, note="wheel side")
    with store.begin() as conn:
        return add_field(conn, replace(north, digs=(card,)))


@pytest.fixture
def a_risk(enrolled: FieldRecord):
    """Make what a night found for the usual field."""
    usual = RiskRecord(
        season_id=enrolled.season_id,
        night=date(2026, 7, 14),
        status="watched",
        rung=2,
        raw_rung=2,
        free_rung=0,
        nights_below=0,
        said_rung=1,
        nights_under_said=0,
        reason="stress_likely_7_days",
        stage="V12",
        gdd_f_total=1210.0,
        water_in_reach_mm=30.5,
        free_water_mm=61.0,
        days_ahead_kind="days",
        days_ahead_median=9.0,
        days_ahead_low=4.0,
        days_ahead_high=15.0,
        chance_7=0.6,
        chance_14=0.8,
        stress_past_7=0.4,
        stress_season=0.9,
        reach=0.55,
        weather_through=date(2026, 7, 12),
    )
    return lambda **changes: replace(usual, **changes)
