"""Lives the Iowa weather of 2012 and 2014 through the worker and prints the ladder by week.

Run ``.venv/bin/python tests/outside/real_seasons.py``. Daily weather of one place in central
Iowa, 1980-2020, from the collection in ``../shared/data/iowa`` (its README names the source);
humidity and wind are not in it, so the model estimates both. 2012 was the drought of the
Corn Belt (US corn 123.1 bu/ac, the lowest since 1995), 2014 a record crop (171.0 bu/ac; both
USDA NASS). Members of the outlook are the years before each season.
"""

from __future__ import annotations

import logging
import pickle
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from pathlib import Path

import structlog

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "fixtures"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from loopback.mailbox import Mailbox
from loopback.plays import csv_play
from loopback.power_server import PowerServer
from once import made_once
from rootbound_rules.risk.ladder import RUNG_NAMES
from rootbound_service.clock import SetClock
from rootbound_service.records import DigRecord, FieldRecord, Person, RiskRecord, SoilRecord
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_field, list_fields
from rootbound_service.store.risk import notes_between, risk_history
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker.ticks import night_tick, send_tick
from rootbound_service.worker.weather_ticks import past_tick

POWER_ONLY = Path(__file__).parents[2] / "fixtures" / "orders" / "power_only.toml"

ROOT = Path(__file__).resolve().parents[2]
WEATHER = ROOT.parent / "shared" / "data" / "iowa" / "weather_1980_2020.csv"
ELEVATION_M = 315.0
YEARS = (2012, 2014)
CLASSES = (0, 2)
SMALL_HOURS = time(9, 30)
TOLD = "told.pickle"
GROWER = Person("Maren Holt", "maren.holt@alder.example", "grower", "metric", "America/Chicago")


@dataclass(slots=True)
class Told:
    """One field's season as it was told, night by night."""

    rows: dict[date, RiskRecord] = field(default_factory=dict)
    notes: dict[date, int | None] = field(default_factory=dict)
    """Night of each note -> its rung."""

    def first(self, rung: int) -> date | None:
        """First night on a rung or above it."""
        return next((night for night, row in self.rows.items() if (row.rung or 0) >= rung), None)

    @property
    def worst(self) -> int:
        """Highest rung of the season."""
        return max(row.rung or 0 for row in self.rows.values())


def live(year: int, folder: Path) -> dict[int, Told]:
    """Live one season; what was told of the field of each wall class.

    Parameters
    ----------
    year
        Of the season; years before it in the file are the outlook's members.
    folder
        An empty one for the service's data.
    """
    first, last = date(year, 5, 20), date(year, 9, 30)
    nights = [first + timedelta(days=i) for i in range((last - first).days + 1)]
    with a_service(year, folder) as (service, clock, sky):
        for night in nights:
            sky.today = night
            clock.set(datetime.combine(night, SMALL_HOURS, UTC))
            past_tick(service)
            report = night_tick(service)
            if report is None or report.failures:
                raise RuntimeError(f"night of {night}: {report and report.failures}")
            send_tick(service)
        return told_of(service, nights)


def lived_once(year: int) -> tuple[Path, dict[int, Told]]:
    """Live a season once in a run of the tests; the service's data, and what was told.

    Parameters
    ----------
    year
        Of the season.

    Returns
    -------
    tuple
        A folder to be read and never written, and what :func:`live` gives.
    """
    folder = made_once(f"the season of {year} in Iowa", partial(_live_into, year))
    told: dict[int, Told] = pickle.loads((folder / TOLD).read_bytes())  # noqa: S301  (our own)
    return folder, told


def _live_into(year: int, folder: Path) -> None:
    """Live a season in a folder and keep there what was told."""
    told = live(year, folder)
    (folder / TOLD).write_bytes(pickle.dumps(told))


@contextmanager
def a_service(year: int, folder: Path) -> Iterator[tuple[Service, SetClock, PowerServer]]:
    """The worker's own service over the file's weather; its two fields, where it has none."""
    clock = SetClock(datetime(year, 5, 20, 9, 30, tzinfo=UTC))
    play = csv_play(WEATHER, ELEVATION_M)
    with Mailbox() as box, PowerServer(play, clock.now().date()) as sky:
        env = {
            "ROOTBOUND_DATA_DIR": str(folder),
            "ROOTBOUND_SMTP_HOST": box.host,
            "ROOTBOUND_SMTP_PORT": str(box.port),
            "ROOTBOUND_SOURCES_FILE": str(POWER_ONLY),
            "ROOTBOUND_NASA_POWER_URL": sky.url,
        }
        with open_service(load_settings(env), clock) as service:
            with service.engine.begin() as conn:
                for wall_class in () if list_fields(conn) else CLASSES:
                    add_field(conn, _field(year, wall_class))
            yield service, clock, sky


def _field(year: int, wall_class: int) -> FieldRecord:
    """A field of the place, planted and dug at the usual time."""
    usual = FieldRecord(
        name=f"Class {wall_class}",
        lat=42.02,
        lon=-93.78,
        elevation_m=ELEVATION_M,
        row_spacing_cm=76.2,
        time_zone="America/Chicago",
        grower=GROWER,
        adviser=None,
        soil=SoilRecord(texture="loam", organic_matter_pct=4.0, water_table_m=1.2),
        crop="maize",
        planted=date(year, 5, 5),
        black_layer_gdd_f=None,
        seed_depth_cm=5.0,
    )
    return replace(usual, digs=(DigRecord(date(year, 6, 1), wall_class),))


def told_of(service: Service, nights: list[date]) -> dict[int, Told]:
    """What the store says of every night; a night without a row was like the one before."""
    told: dict[int, Told] = {}
    with service.engine.connect() as conn:
        notes = notes_between(conn, nights[0], nights[-1])
        for one, wall_class in zip(list_fields(conn), CLASSES, strict=True):
            found = {row.night: row for row in risk_history(conn, one.season_id)}
            mine, last = Told(), None
            for night in nights:
                last = found.get(night, last)
                if last is not None:
                    mine.rows[night] = last
            mine.notes = {n.night: n.to_rung for n in notes if n.season_id == one.season_id}
            told[wall_class] = mine
    return told


def table(year: int, told: dict[int, Told]) -> str:
    """The ladder on each Monday, both fields.

    Parameters
    ----------
    year
        Of the season.
    told
        By wall class.
    """
    cells = [f"class {wall_class}: rung, water in reach, notes" for wall_class in told]
    lines = [f"{year}", f"{'Monday':<8}{'stage':<9}" + "".join(f"{cell:<44}" for cell in cells)]
    for night in next(iter(told.values())).rows:
        if night.weekday() == 0:
            stage = next(iter(told.values())).rows[night].stage
            states = "".join(f"{_state(one, night):<44}" for one in told.values())
            lines.append(f"{night:%d %b}  {stage:<9}{states}".rstrip())
    for wall_class, one in told.items():
        firsts = [f"{RUNG_NAMES[r]} {day:%d %b}" for r in range(1, 5) if (day := one.first(r))]
        said = ", ".join(f"{night:%d %b} to {rung}" for night, rung in one.notes.items())
        lines.append(f"class {wall_class}: first {', '.join(firsts) or 'never above ample'}")
        lines.append(f"         {len(one.notes)} notes: {said or 'none'}")
    return "\n".join(lines)


def _state(one: Told, night: date) -> str:
    """One field on one night."""
    row = one.rows[night]
    rung = row.status if row.rung is None else f"{row.rung} {RUNG_NAMES[row.rung]}"
    water = "-" if row.water_in_reach_mm is None else f"{row.water_in_reach_mm:.0f} mm"
    unrated = " (unrated)" if row.status == "unrated" else ""
    return f"{rung}{unrated}, {water}, {sum(day <= night for day in one.notes)} notes"


def main() -> int:
    """Live both seasons and print them."""
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.WARNING))
    for year in YEARS:
        with tempfile.TemporaryDirectory() as folder:
            print(table(year, live(year, Path(folder))), end="\n\n")
    return 0


if __name__ == "__main__":
    if not WEATHER.exists():
        sys.exit(f"there is no {WEATHER}: the real weather is not part of the repository")
    sys.exit(main())
