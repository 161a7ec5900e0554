"""Where a service's own settings have a night's chunks computed, and from which stored sky."""

from __future__ import annotations

import os
from collections.abc import Iterable
from datetime import datetime
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_rules.season.cache import rules_fingerprint
from rootbound_service.clock import SetClock
from rootbound_service.nights.gather import ready_cells
from rootbound_service.nights.many.job import Sky
from rootbound_service.nights.many.run import Plant
from rootbound_service.settings import FROM_FILE, Settings
from rootbound_service.sweep.cluster import Cluster, Tls
from rootbound_service.sweep.executors import InProcess, Processes
from rootbound_service.weather.grid_object_seat import ObjectSeat
from rootbound_service.weather.where import weather_place
from rootbound_service.wiring import parts_at

if TYPE_CHECKING:
    from rootbound_service.sweep.executors import Executor
    from rootbound_service.wiring import Parts

SECRETS = FROM_FILE
"""Settings that no worker needs, and none is sent."""


def plant_of(parts: Parts) -> Plant:
    """Say where chunks are computed.

    Parameters
    ----------
    parts
        The wired service.
    """
    settings = parts.settings
    return Plant(
        executor=executor_of(settings),
        folder=settings.sweep_folder or settings.data_dir / "sweep",
        open_sky=partial(_open, _bare(settings), parts.clock.now()),
        stamp=f"{rules_fingerprint()} {_stamp(settings, parts.order.named('days'))}",
    )


def executor_of(settings: Settings) -> Executor:
    """Choose who computes: a cluster, processes of this machine, or this process.

    Parameters
    ----------
    settings
        Name the cluster's scheduler, or how many processes there may be.
    """
    if settings.sweep_scheduler is not None:
        files = (
            settings.sweep_authority_file,
            settings.sweep_certificate_file,
            settings.sweep_key_file,
        )
        tls = Tls(*files) if all(files) else None  # type: ignore[arg-type]  # none of them is None
        return Cluster(settings.sweep_scheduler, tls=tls)
    workers = settings.sweep_workers or len(os.sched_getaffinity(0))
    return Processes(workers) if workers > 1 else InProcess()


def _bare(settings: Settings) -> Settings:
    """The settings as workers get them: without secrets."""
    return settings.model_copy(update=dict.fromkeys(SECRETS))


_OPEN: dict[str, Sky] = {}
"""The one sky that a worker has open."""


def _open(settings: Settings, now: datetime) -> Sky:
    """Open the sky in a worker, once a night."""
    name = f"{settings!r} {now}"
    if name not in _OPEN:
        _OPEN.clear()
        _OPEN[name] = partial(ready_cells, parts_at(settings, SetClock(now)))
    return _OPEN[name]


def _stamp(settings: Settings, sources: Iterable[str]) -> str:
    """Name the state of the stored weather; in a bucket each source has a version."""
    place = weather_place(settings)
    if not isinstance(place, Path):
        seats = {name: ObjectSeat(place.under(f"weather/{name}")) for name in sources}
        return " ".join(f"{name} {seat.stamp()}" for name, seat in seats.items())
    digest = sha256()
    for path in sorted(_files(place)):
        seen = path.stat()
        digest.update(f"{path} {seen.st_mtime_ns} {seen.st_size}\n".encode())
    return digest.hexdigest()


def _files(data: Path) -> list[Path]:
    """Everything that a cell's days are made of."""
    folders = [data / name for name in ("weather", "forecasts")]
    return [path for folder in folders for path in folder.rglob("*") if path.is_file()]
