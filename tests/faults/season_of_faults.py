"""A season on the default order of sources while every third answer is broken, and what came of it.

By hand: ``.venv/bin/python tests/faults/season_of_faults.py [--nights 120] [--rate 0.333]``.
"""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
import time as wall
from collections import Counter, deque
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from types import MappingProxyType

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2] / "fixtures")]

import numpy as np
import structlog

from faults.season_report import print_season
from faults.season_truth import Truth
from loopback.climate import ClimatePlay
from loopback.faults import CHANCE, Chaos
from loopback.mailbox import Mailbox
from loopback.public_server import PublicServer
from rootbound_service import nightly
from rootbound_service.clock import SetClock
from rootbound_service.nights.parts import Gathered
from rootbound_service.public.http import Patience
from rootbound_service.records import NoteRecord, SoilRecord
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_field, list_fields
from rootbound_service.store.risk import notes_between
from rootbound_service.store.runs import last_run
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import How
from rootbound_service.weather.spans import history_start
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker.ticks import digest_tick, night_tick, send_tick
from rootbound_service.worker.weather_ticks import again_tick, past_tick
from service.nights.rig import YEAR, a_field

FIRST, BEGIN = date(YEAR, 5, 6), date(YEAR, 1, 1)
HOURS = (time(9, 30), time(11, 5), time(13, 5), time(17, 5))
"""The night, and the hours for asking again; letters go in the morning."""
PLACES = {
    "Long Acre": (41.62, -94.92),
    "Mill Bottom": (41.66, -94.87),
    "Far": (42.08, -94.36),
    "Stone Gate": (41.20, -93.10),
    "Heron": (40.60, -91.40),
    "No Soil": (42.60, -95.60),
}
PATIENCE = Patience(timeout_s=0.6, retries=4, backoff_s=0, backoff_jitter_s=0)
"""As in service, but for the waiting."""
KINDS = (*CHANCE * 3, "silent")
"""All faults; the one that costs a whole time-out comes more rarely."""
ORDERED = {40: "revised", 41: "slow", 60: "hidden_wrong_units", 90: "revised"}
"""Nights of the long season on which the preferred source plays one fault in every answer."""
LEVEL_C = 4.0
"""A stand-in's temperature brought to level may be off the settled truth by: 1.5 degC of an
ordered revision, twice (in its own value and in the days compared), and noise of a day."""


@dataclass(slots=True)
class Run:
    """One run of a night, as it was gathered."""

    night: date
    told: tuple[str, ...]
    how: Counter[str]
    wrong: Counter[tuple[str, str]]
    """Values in hidden wrong units that were used, by source and quantity."""
    strange: list[str]
    """Values used that nobody told in any way."""
    revised: int
    """Values used that are there because a revision was ordered."""
    elsewhere: int
    """Places that have lost their cell of the preferred source."""
    off_c: float
    """The largest distance of a levelled temperature from the settled truth. [degC]"""


@dataclass(slots=True)
class Season:
    """What came of a season."""

    folder: Path
    runs: list[Run] = field(default_factory=list)
    finished: list[date] = field(default_factory=list)
    unknown: Counter[date] = field(default_factory=Counter)
    requests: list[int] = field(default_factory=list)
    """Of each day."""
    nightly_requests: list[int] = field(default_factory=list)
    """Of each run of a night."""
    faults: Counter[str] = field(default_factory=Counter)
    by_service: Counter[str] = field(default_factory=Counter)
    hidden: Counter[str] = field(default_factory=Counter)
    """Answers in hidden wrong units, by service."""
    flags: Counter[str] = field(default_factory=Counter)
    notes: tuple[NoteRecord, ...] = ()
    names: dict[int, str] = field(default_factory=dict)
    soils: dict[str, SoilRecord] = field(default_factory=dict)
    holes: dict[str, int] = field(default_factory=dict)
    """Days of the past without a stored value, by cell."""
    past_wrong: Counter[tuple[str, str]] = field(default_factory=Counter)
    revisions: dict[date, int] = field(default_factory=dict)
    """Values that a source changed, by the day we learned of it."""
    letters: int = 0
    seconds: float = 0.0
    memory_mb: tuple[float, float] = (0.0, 0.0)
    """In use after the tenth night and after the last."""


def live(
    folder: Path,
    nights: int,
    chaos: Chaos | None,
    years: int = 11,
    ordered: Mapping[int, str] = MappingProxyType({}),
) -> Season:
    """Live a season night by night with the worker's own ticks.

    On an ordered night, counted from 1, the preferred source plays that fault alone, and no other.
    """
    play, begun = ClimatePlay({YEAR: "dry_july"}), wall.perf_counter()
    with Mailbox() as box, PublicServer(play, FIRST) as sky:
        env = {
            "ROOTBOUND_DATA_DIR": str(folder),
            "ROOTBOUND_SMTP_HOST": box.host,
            "ROOTBOUND_SMTP_PORT": str(box.port),
            "ROOTBOUND_MAIL_FROM": "watch@rootbound.example",
            "ROOTBOUND_OPERATOR_EMAIL": "operator@rootbound.example",
            "ROOTBOUND_HISTORY_YEARS": str(years),
        } | sky.env
        sky.slow_s = 0.008
        clock, season = SetClock(datetime.combine(FIRST, HOURS[0], UTC)), Season(folder)
        with open_service(load_settings(env), clock, PATIENCE) as service, _spied(season, sky):
            enrol(service)
            for number in range(1, nights + 1):
                night, fault = FIRST + timedelta(days=number - 1), ordered.get(number)
                sky.chaos = None if fault else chaos
                sky.faults["gridmet"] = deque([fault] * 999 if fault else [])
                _one_day(service, clock, sky, season, night)
                if len(season.requests) == min(10, nights):
                    season.memory_mb = (_memory_mb(), 0.0)
            season.memory_mb = (season.memory_mb[0], _memory_mb())
            season.letters = len(box.received)
            _look_back(service, sky, season, night)
    season.seconds = wall.perf_counter() - begun
    return season


def enrol(service: Service) -> None:
    """Six fields, five tiles; one of them without a soil."""
    with service.engine.begin() as conn:
        for name, place in PLACES.items():
            soil = SoilRecord() if name == "No Soil" else SoilRecord(texture="loam")
            planted = date(YEAR, 4, 24)
            add_field(conn, a_field(name, place, planted=planted, soil=soil, digs=()))


def _one_day(
    service: Service, clock: SetClock, sky: PublicServer, season: Season, night: date
) -> None:
    """Every tick at every hour, as the scheduler would call them."""
    first, reports = len(sky.requests), []
    for hour in HOURS:
        sky.now = datetime.combine(night, hour, UTC)
        clock.set(sky.now)
        past_tick(service)
        before = len(sky.requests)
        if report := night_tick(service) or again_tick(service):
            reports.append(report)
            season.nightly_requests.append(len(sky.requests) - before)
        digest_tick(service)
        send_tick(service)
    sky.released.set()  # lets go of whoever a silent service keeps waiting
    sky.released.clear()
    with service.engine.connect() as conn:
        run = last_run(conn, finished_only=True)
    assert run is not None
    season.finished.append(run.night)
    season.unknown[night] = run.fields_failed
    new = sky.requests[first:]
    season.requests.append(len(new))
    season.faults.update(one.fault for one in new)
    season.by_service.update(one.service for one in new)
    season.hidden.update(one.service for one in new if one.fault == "hidden_wrong_units")


@contextmanager
def _spied(season: Season, sky: PublicServer) -> Iterator[None]:
    """Look at what every night gathered before it computes."""
    end = date(YEAR, 12, 31)
    truth, real = Truth(sky.sky, sky.now, BEGIN, end), nightly.gather

    def gather(parts, night: date, **how) -> Gathered:
        gathered = real(parts, night, **how)
        season.runs.append(look(parts, gathered, truth))
        return gathered

    nightly.gather = gather
    try:
        yield
    finally:
        nightly.gather = real


def look(parts, gathered: Gathered, truth: Truth) -> Run:
    """Hold every value of this year that a night used against what its source told."""
    run = Run(gathered.night, gathered.told, Counter(), Counter(), [], 0, 0, 0.0)
    for cell in gathered.cells.values():
        composed, index, place = cell.days.composed, cell.days.index, cell.days.place
        days = slice((BEGIN - composed.start).days, None)
        used, how = composed.values[:, index, days], composed.how[:, index, days]
        source = composed.source[:, index, days]
        there = slice(0, used.shape[1])
        run.elsewhere += place.cell.source != "gridmet"
        run.how.update({one.name: int((how == one).sum()) for one in How})
        for rank, own in enumerate(place.cells):
            from_it = source == rank
            feed, last = parts.feeds[own.source], BEGIN + timedelta(days=used.shape[1] - 1)
            stored = feed.store.read([own], BEGIN, last).values[:, 0]
            values = np.where(from_it, used if rank == 0 else stored, np.nan)
            odd, hidden = truth.judge(own, values, there)
            for quantity, day in zip(*np.nonzero(odd), strict=True):
                key = (own.source, QUANTITY_NAMES[quantity])
                if hidden[quantity, day]:
                    run.wrong[key] += 1
                else:
                    run.strange.append(f"{run.night} {key} day {day}: {values[quantity, day]:.3f}")
            run.revised += int(truth.revised(own, values, there).sum())
            if rank:
                level = abs(used - truth.settled(place.cell)[:, there])[:2][from_it[:2]]
                run.off_c = max(run.off_c, float(level.max(initial=0.0)))
    return run


def _look_back(service: Service, sky: PublicServer, season: Season, night: date) -> None:
    """What is in the stores at the end."""
    parts = service.parts
    with service.engine.connect() as conn:
        fields = list_fields(conn, night)
        season.notes = tuple(notes_between(conn, FIRST, night))
    season.names = {one.season_id: one.name for one in fields}
    season.soils = {one.name: one.soil for one in fields}
    for feed in parts.feeds.values():
        start = history_start(feed, night, parts.settings.history_years)
        cells = [feed.source.grid.from_key(key) for key in feed.store.cells()]
        stored = feed.store.read(cells, start, date(YEAR - 1, 12, 31))
        truth = Truth(sky.sky, sky.now, start, stored.end)
        for row, cell in enumerate(cells):
            usable = stored.usable()[:, row]
            _, hidden = truth.judge(cell, usable, slice(None))
            season.past_wrong.update(
                {(feed.name, n): int(hidden[q].sum()) for q, n in enumerate(QUANTITY_NAMES)}
            )
            season.holes[cell.key] = int(np.isnan(usable[:3]).any(axis=0).sum())
        changed = feed.store.revisions.of()
        for day in changed.rows["seen_on"].tolist():
            seen = date(1981, 1, 1) + timedelta(days=day)
            season.revisions[seen] = season.revisions.get(seen, 0) + 1
        every = feed.store.read(cells, BEGIN, night).flags
        season.flags[f"{feed.name} values flagged at the end"] += int((every != 0).sum())


def _memory_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 1e6


def main() -> None:
    """Live the season with faults and without, and print what came of both."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--nights", type=int, default=120)
    parser.add_argument("--rate", type=float, default=1 / 3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--years", type=int, default=11)
    asked = parser.parse_args()
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(50))
    with tempfile.TemporaryDirectory() as folder:
        plain = live(Path(folder) / "plain", asked.nights, None, asked.years)
        chaos = Chaos(asked.rate, asked.seed, KINDS)
        broken = live(Path(folder) / "broken", asked.nights, chaos, asked.years, ORDERED)
        print_season("Without faults", plain)
        print_season(f"With a fault on {asked.rate:.0%} of the requests", broken, plain)


if __name__ == "__main__":
    main()
