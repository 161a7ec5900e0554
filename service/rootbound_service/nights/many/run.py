"""The night of very many fields, told in order: gather, sweep, record.

The coordinator alone touches the database. It lays each chunk's input out shortly before a
worker takes it, so that reading goes on beside computing; a sweep that broke off, or was asked
to stop, goes on with the parts whose input is still the same.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nights.expected import bring_forecasts
from rootbound_service.nights.gather import fewest_years, pull_weather
from rootbound_service.nights.history import begin_of
from rootbound_service.nights.many.job import NightJob, Sky, let_go, make_folders
from rootbound_service.nights.many.left import asked_before, forget_asked, name_of, note_asked
from rootbound_service.nights.many.pasts import forget_unkept
from rootbound_service.nights.many.record import record_many
from rootbound_service.nights.many.slices import due_fields, lay_out
from rootbound_service.nights.many.weighed import Rules
from rootbound_service.nights.told import troubles_by_place, weather_told
from rootbound_service.nights.whole_code import read_whole_code
from rootbound_service.store.runs import finished_at
from rootbound_service.sweep.parts import Parts as SweepParts
from rootbound_service.sweep.run import sweep
from rootbound_service.weather.grid_mend import mend_stores

if TYPE_CHECKING:
    from rootbound_service.nights.many.slices import Due
    from rootbound_service.nights.parts import NightReport
    from rootbound_service.sweep.executors import Executor
    from rootbound_service.sweep.run import Progress
    from rootbound_service.wiring import Parts


SAID = 20
"""So often the log says how far a night is."""
_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Plant:
    """Where and by whom a night's chunks are computed."""

    executor: Executor
    folder: Path
    open_sky: Callable[[], Sky]
    stamp: str
    """Names the state of the stored weather: another one makes every part anew."""


@dataclass(slots=True)
class Asked:
    """What asking the services came to."""

    troubles: dict[str, str] = field(default_factory=dict[str, str])
    told: tuple[str, ...] = ()
    missed: bool = False
    mended: bool = False
    """Whether stored weather was spoiled: the operator hears of it in any case."""
    at: str = ""
    """When: parts follow from what came then."""


def run_many(
    parts: Parts,
    night: date,
    plant: Callable[[], Plant],
    progress: Callable[[int, int], None] | None = None,
    *,
    past: bool = True,
    pull: bool = True,
    cancelled: Callable[[], bool] = lambda: False,
) -> NightReport:
    """Run one night for very many fields; running it again changes nothing that was right.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night.
    plant
        Called once the weather has come.
    progress
        Told how many chunks are done, and of how many.
    past
        Whether to fetch the past years of new cells now.
    pull
        Whether to ask the sources, or to use what is stored.
    cancelled
        Asked after each chunk, whether to stop.

    Raises
    ------
    Cancelled
        If it was to stop; run again within some hours, the night goes on from there. Or if
        somebody else has recorded it meanwhile.
    """
    read_whole_code(many=True)
    with parts.engine.execution_options(ro=True).connect() as conn:
        seen = finished_at(conn, night)
    mended = mend_stores(parts.feeds, parts.clock.now()) if pull else ()
    due = due_fields(parts, night)
    asked = _asked(parts, due, night, mended, past=past) if pull else Asked()
    own = plant()
    make_folders(own.folder)
    with parts.engine.execution_options(ro=True).connect() as conn:
        lost = forget_unkept(conn, own.folder)
    rules = Rules(night, parts.settings.weather_stale_days, fewest_years(parts))
    name = f"{night} {rules.stale_days} {rules.fewest_years} {own.stamp}"
    name += f" {sorted(asked.troubles)} {asked.at}"
    job = NightJob(own.folder, due.chunks, name, rules, own.open_sky)
    kept = SweepParts(own.folder, job.fingerprint)
    if lost:  # parts may rest on them
        kept.clear()

    def needed(number: int, there: bool) -> bool:  # noqa: FBT001  as the sweep asks
        given = lay_out(parts, due, night, number, asked.troubles, own.folder, pull=pull)
        return not (there and kept.read(number)["input"].tobytes() == given)

    def tell(now: Progress) -> None:
        if now.done % max(now.of // SAID, 1) == 0:
            left = None if now.left_s is None else round(now.left_s)
            _log.info("night_chunks", done=now.done, of=now.of, kept=now.before, left_s=left)
        if progress is not None:
            progress(now.done, now.of)

    sweep(job, own.folder, own.executor, time.monotonic, tell, cancelled, needed)
    report = record_many(parts, job, due, asked, own.executor, seen)
    kept.clear()
    let_go(own.folder)
    forget_asked(parts.settings.data_dir)
    return report


def _asked(parts: Parts, due: Due, night: date, mended: tuple[str, ...], *, past: bool) -> Asked:
    """Ask the services, unless they were asked for this night and it was left in the middle."""
    now, folder = parts.clock.now(), parts.settings.data_dir
    name = name_of(night, due.growing, past=past)
    parts.caller.begin_run()
    before = None if mended else asked_before(folder, name, now)
    if before is not None:
        _log.info("night_goes_on", night=night.isoformat())
        before["told"] = tuple(before["told"])
        return Asked(**before)
    asked = _ask(parts, due, night, past=past)
    asked.told, asked.mended, asked.at = (*mended, *asked.told), bool(mended), now.isoformat()
    note_asked(folder, name, now, asdict(asked))
    return asked


def _ask(parts: Parts, due: Due, night: date, *, past: bool) -> Asked:
    """Ask the services for every cell in which something grows."""
    places = due.growing
    if not places:
        return Asked()
    most = None if past else 0
    pulled = pull_weather(parts, places, begin_of(due.first_planted), night, most)
    told = (*weather_told(pulled, (), night), *bring_forecasts(parts, places))
    missed = any(one.failed for one in pulled)
    return Asked(troubles_by_place(places, pulled), told, missed)
