"""Very many invented fields, and a sky over their cells, for the speed of a whole night.

The cells are those of a twenty-fourth of a degree in a square of the plains. Climates are
played once and kept in memory; each cell has one of them with rain of its own share. Every
field has its own soil, hybrid, day of planting and dig; a person has two hundred of them.
"""

from __future__ import annotations

import itertools
import pickle
import time
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

import numpy as np
from sqlalchemy import insert, text
from web_scene import _person  # the same invented people

from loopback.climate import ClimatePlay
from rootbound_rules.crop.table import heat_limits
from rootbound_rules.season.coming import ComingDays
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.values import DailyWeather
from rootbound_service.nights.coming import Coming
from rootbound_service.nights.compute import make_ready
from rootbound_service.nights.decide import weigh
from rootbound_service.nights.many.columns import from_columns, to_columns
from rootbound_service.nights.many.job import NightJob, input_path, make_folders
from rootbound_service.nights.many.quick import quick_of
from rootbound_service.nights.many.slices import due_fields, lay_out
from rootbound_service.nights.many.weighed import Rules
from rootbound_service.nights.parts import CellNight
from rootbound_service.store.numbers import count_on
from rootbound_service.store.risk import save_risk
from rootbound_service.store.runs import finish_run, start_run
from rootbound_service.store.schema import (
    account,
    consent_event,
    contact,
    dig,
    field,
    member,
    person,
    season,
    soil,
    standing,
)
from rootbound_service.sweep.parts import Parts
from rootbound_service.sweep.run import parts_of, sweep
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import Composed
from rootbound_service.weather.fill.draft import How
from rootbound_service.weather.series import DIGITS, PlaceDays

YEAR, YEARS, CLIMATES, STEP = 2026, 30, 48, 1 / 24
NIGHT = date(YEAR, 7, 14)
LATE = 2
"""The newest weather is so many days old. [d]"""
NORTH, WEST = 37.02, -99.98
OWN = 200
"""Fields of a person."""
WEATHER = ("tmax_c", "tmin_c", "rain_mm", "solar_mj", "dewpoint_c", "wind_m_s")
TEXTURES = ("loam", "silty clay loam", "sandy loam", "silt loam", "clay loam")


def enrol(conn, fields: int, cells: int, readers: float = 1.0, seed: int = 5) -> None:
    """Put in the fields, neighbours side by side in the square of cells."""
    chance, side = np.random.default_rng(seed), int(np.ceil(np.sqrt(cells)))
    people = -(-fields // OWN)
    _put(conn, person, (_person(i) for i in range(1, people + 1)))
    _put(conn, account, ({"id": i, "name": f"Account {i}"} for i in range(1, people + 1)))
    _put(
        conn,
        member,
        ({"account_id": i, "person_id": i, "role": "grower"} for i in range(1, people + 1)),
    )
    reads = chance.random(people) < readers
    _put(conn, contact, (_contact(i, reads[i - 1]) for i in range(1, people + 1)))
    _put(conn, consent_event, (_consent(i) for i in range(1, people + 1)))
    _put(conn, field, (_field(i, cells, side, fields) for i in range(1, fields + 1)))
    _put(conn, soil, (_soil(i, one) for i, one in enumerate(chance.random((fields, 3)), 1)))
    planted = chance.integers(0, 30, fields)
    _put(conn, season, (_season(i, int(day)) for i, day in enumerate(planted, 1)))
    _put(conn, dig, (row for i in range(1, fields + 1) if (row := _dig(i, planted[i - 1], chance))))
    _put(conn, standing, (_waiting(i) for i in range(1, fields + 1)))
    if conn.engine.dialect.name == "postgresql":
        count_on(conn, (person, account, contact, consent_event, field, season, dig))
    conn.execute(text("ANALYZE"))


def _put(conn, table, rows):
    rows = iter(rows)
    while some := list(itertools.islice(rows, 20_000)):
        conn.execute(insert(table), some)


def _contact(i, reads):
    mail = f"p{i}@bench.example"
    return {
        "id": i, "person_id": i, "channel": "email", "address": mail, "address_key": mail,
        "notes": bool(reads), "least_rung": 0, "digest_day": 0,
    }  # fmt: skip


def _consent(i):
    at = datetime(YEAR, 4, 1, tzinfo=UTC)
    return {
        "id": i, "contact_id": i, "kind": "given", "at": at, "how": "enrolment", "wording": "notes",
        "said": "yes",
    }  # fmt: skip


def _field(i, cells, side, fields):
    cell = (i - 1) * cells // fields
    return {
        "id": i, "account_id": (i - 1) // OWN + 1, "grower_id": (i - 1) // OWN + 1,
        "adviser_id": None, "name": f"Field {i}", "name_key": f"field {i}",
        "lat": NORTH + (cell // side) * STEP, "lon": WEST + (cell % side) * STEP,
        "elevation_m": 300.0, "time_zone": "America/Chicago", "irrigated": False,
    }  # fmt: skip


def _soil(i, chance):
    return {
        "field_id": i, "texture": TEXTURES[int(5 * chance[0])], "origin": "invented",
        "origins": {}, "organic_matter_pct": round(2.0 + 2.5 * chance[1], 2),
        "water_table_m": 1.2 + chance[2] if chance[2] < 0.4 else None,
    }  # fmt: skip


def _season(i, day):
    return {
        "id": i, "field_id": i, "year": YEAR, "crop": "maize",
        "planted": date(YEAR, 4, 20) + timedelta(days=day), "row_spacing_cm": 76.2,
        "seed_depth_cm": 5.0, "black_layer_gdd_f": (2450.0, 2650.0, 2800.0)[i % 3],
    }  # fmt: skip


def _dig(i, day, chance):
    """Six fields in ten were dug; a third of the bad ones with roots counted."""
    if chance.random() > 0.6:
        return None
    wall = int(chance.choice(4, p=(0.35, 0.3, 0.22, 0.13)))
    counted = wall > 0 and chance.random() < 0.33
    return {
        "id": i, "season_id": i, "dug_on": date(YEAR, 5, 20) + timedelta(days=int(day)),
        "wall_class": wall, "plants": 5, "crossing": 14 if counted else None,
        "held": 22 if counted else None, "pan_class": 0, "pan_depth_cm": None,
        "seed_depth_cm": 5.0, "soil_moisture": None, "note": "", "form_id": None, "by": None,
        "recorded_at": None,
    }  # fmt: skip


def _waiting(i):
    return {
        "field_id": i, "account_id": (i - 1) // OWN + 1, "grower_id": (i - 1) // OWN + 1,
        "season_id": i, "crop": "maize", "night": None, "status": "waiting", "rung": None,
        "place": 5.0, "changed": 0,
    }  # fmt: skip


def make_climates(path: Path) -> None:
    """Play the climates once and leave them for every worker."""
    begin, end = date(YEAR - YEARS, 1, 1), date(YEAR, 12, 31)
    made = [ClimatePlay({}, seed=seed)(41.0, -96.0, begin, end) for seed in range(CLIMATES)]
    path.write_bytes(pickle.dumps((begin, made), protocol=5))


@dataclass(frozen=True)
class BenchSky:
    """The climates in memory, as far as they are known on a night."""

    weather: tuple
    demands: tuple
    coming: tuple
    composed: Composed

    def __call__(self, places, crops, night, troubles):
        return {place.key: self._cell(place, night) for place in places}

    def _cell(self, place, night):
        number = place.cell.row * 7919 + place.cell.column * 104729
        which, share = number % CLIMATES, 3.6 + 2.0 * (number % 1009) / 1009
        sky = self.weather[which]
        own = replace(sky, rain_mm=(sky.rain_mm * share).round(DIGITS))
        days = PlaceDays(place, own, 300.0, self.composed, which)
        demand, coming = self.demands[which], self.coming[which]
        limits = heat_limits("maize")
        return CellNight(
            days,
            {limits: replace(demand, rain_mm=demand.rain_mm * share)},
            replace(coming, days={limits: coming.days[limits]}),
        )


@lru_cache(maxsize=1)
def open_sky(path: Path, night: date) -> BenchSky:
    """Load the climates and work out what the air asks for, once a process."""
    from rootbound_rules.season.kernel import demand_loop

    begin, made = pickle.loads(path.read_bytes())  # noqa: S301  written by this bench
    known = (night - begin).days - LATE
    limits = heat_limits("maize")
    weather, demands, coming = [], [], []
    for days in made:
        sky = DailyWeather(
            begin, **{name: np.asarray(days[name])[:known].round(DIGITS) for name in WEATHER}
        )
        whole = cell_demand(DailyWeather(begin, **days), 41.0, 300.0, *limits, demand_loop)
        weather.append(sky)
        demands.append(cell_demand(sky, 41.0, 300.0, *limits, demand_loop))
        coming.append(_coming(whole, known, begin, limits, len(weather)))
    return BenchSky(tuple(weather), tuple(demands), tuple(coming), _composed(weather, begin))


def _coming(whole, known, begin, limits, seed):
    """A forecast of seven days in twenty traces around what came."""
    rng, span = np.random.default_rng(seed), slice(known, known + 7 + LATE)
    traces = {
        name: getattr(whole, name)[span] * rng.uniform(0.8, 1.2, (20, 7 + LATE))
        for name in ("rain_mm", "et0_mm", "gdd_f", "climate")
    }
    start = begin + timedelta(days=known)
    found = ComingDays(start, **traces)
    return Coming({limits: found}, "bench", start, start + timedelta(days=8), "a bench forecast")


def _composed(weather, begin):
    """Every value observed by the one source."""
    shape = (len(QUANTITY_NAMES), len(weather), len(weather[0].rain_mm))
    values = np.full(shape, np.nan)
    for place, sky in enumerate(weather):
        for row, name in enumerate(QUANTITY_NAMES):
            if name in WEATHER:
                values[row, place] = getattr(sky, name)
    return Composed(
        names=("gridMET",), start=begin, values=values,
        how=np.where(np.isnan(values), How.MISSING, How.OBSERVED).astype(np.uint8),
        source=np.zeros(shape, np.uint8), suspect=np.zeros(shape, np.bool_),
        last=np.full(len(weather), shape[2] - 1, np.intp),
        shift=np.zeros((1, len(weather)), np.int8),
    )  # fmt: skip


class SettleJob(NightJob):
    """A night of which nobody is told: rows alone, so that the next one has a ladder to climb."""

    def compute(self, number):
        packed = input_path(self.folder, number).read_bytes()
        given = pickle.loads(packed)  # noqa: S301  written by this bench
        rules, night = self.rules, self.rules.night
        cells = self.open_sky()(given.places, {}, night, {})
        ready = [
            make_ready(one, cells[given.cell_of[one.id]], night, rules.stale_days, None)
            for one in given.fields
        ]
        rows = [
            weigh(
                one.computed, given.memory.get(one.computed.field.season_id), night, slim=True
            ).risk
            for one in quick_of(ready, night)
        ]
        return {**to_columns(rows), "input": np.frombuffer(sha256(packed).digest(), np.uint8)}


def settle_night(parts, plant, night) -> None:
    """Live through a night without telling anybody."""
    due = due_fields(parts, night)
    make_folders(plant.folder)
    job = SettleJob(plant.folder, due.chunks, f"settle {night}", Rules(night, 10), plant.open_sky)

    def lay(number, there):
        del there
        return bool(lay_out(parts, due, night, number, {}, plant.folder, pull=False))

    sweep(job, plant.folder, plant.executor, time.monotonic, needed=lay)
    with parts.engine.begin() as conn:
        start_run(conn, night, parts.clock.now())
        for part in parts_of(job, plant.folder):
            save_risk(conn, from_columns(part))
        finish_run(conn, night, parts.clock.now(), len(due.ids), 0, "bench")
    Parts(plant.folder, job.fingerprint).clear()
