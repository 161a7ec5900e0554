"""A process beside the web that computes single nights, so that the pages stay light and quick."""

from __future__ import annotations

import os
import signal
from dataclasses import replace
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any

from rootbound_service.errors import ServiceError
from rootbound_service.logs import asked_for
from rootbound_service.settings import FROM_FILE

if TYPE_CHECKING:
    from datetime import datetime
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

    from rootbound_service.logs import Form
    from rootbound_service.nights.again import Again, StoredNight
    from rootbound_service.settings import Settings
    from rootbound_service.wiring import Parts

LIMIT_S = 180.0
"""For one night; the first after an upgrade waits for compiled code. Our choice. [s]"""
BEHIND = 10
"""How far it stands back behind the pages, as ``nice`` counts."""
USUAL = 200
"""Cells of which it remembers what is usual there, some 110 kB each."""
PATIENCE_S = 5.0
"""For the process to end by itself. [s]"""


class Hand:
    """Computes one night after the other in a process of its own, begun with the first.

    Parameters
    ----------
    settings
        Of the service; the process gets no secret and no database.
    """

    def __init__(self, settings: Settings) -> None:
        self._settings = settings.model_copy(update=dict.fromkeys(FROM_FILE))
        self._process: SpawnProcess | None = None
        self._pipe: Connection | None = None

    def compute(self, stored: StoredNight) -> Again:
        """Compute a night again.

        Parameters
        ----------
        stored
            The night.

        Raises
        ------
        ServiceError
            If it could not be computed, took too long, or the process is gone.
        """
        pipe = self._begun()
        try:
            pipe.send(stored)
            found: Again | str | None = pipe.recv() if pipe.poll(LIMIT_S) else None
        except (EOFError, OSError):
            found = None
        if found is None:
            self.close()  # the next night begins another
            raise ServiceError(f"no answer within {LIMIT_S:.0f} s, or the process is gone")
        if isinstance(found, str):
            raise ServiceError(found)
        return found

    def close(self) -> None:
        """End the process, whatever it computes."""
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if process is not None:
            process.terminate()
            process.join(PATIENCE_S)
            process.kill()
            process.join()
        if pipe is not None:
            pipe.close()

    def _begun(self) -> Connection:
        """The way to the process, which is begun if there is none."""
        if self._pipe is not None and self._process is not None and self._process.is_alive():
            return self._pipe
        self.close()
        context = get_context("spawn")
        pipes: tuple[Any, Any] = context.Pipe()
        ours: Connection = pipes[0]
        theirs: Connection = pipes[1]
        self._pipe = ours
        given = (theirs, self._settings, asked_for())
        self._process = context.Process(target=serve, args=given, daemon=True)
        self._process.start()
        theirs.close()
        return ours


def serve(pipe: Connection, settings: Settings, log: tuple[bool, Form] | None = None) -> None:
    """Compute what comes through a pipe until nobody holds its other end.

    Parameters
    ----------
    pipe
        Nights come in; what they come to goes out, or a sentence of why they do not.
    settings
        Where the weather is.
    log
        How the pages' log was asked for.
    """
    from rootbound_service.sweep.executors import begin_worker

    begin_worker(log)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever began it ends it
    signal.signal(signal.SIGTERM, _end)
    os.nice(BEHIND)
    parts = _Parts(settings)
    try:
        while True:
            pipe.send(_answer(pipe.recv(), parts))
    except (EOFError, OSError):
        return


def _end(number: int, frame: object) -> None:
    """Leave in good order: what libraries hold of the system is given back."""
    del number, frame
    raise SystemExit(0)


class _Parts:
    """The parts of a night, made with the first."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._parts: Parts | None = None
        self._cells = 0

    def at(self, moment: datetime) -> Parts:
        """Give them; the moment is that of the first night, and each sets its own."""
        from rootbound_service.clock import SetClock
        from rootbound_service.weather.normals_shelf import NormalsShelf
        from rootbound_service.wiring import parts_at

        if self._parts is None:
            self._parts = parts_at(self._settings, SetClock(moment))
        self._cells += 1
        if self._cells > USUAL:  # the shelf would take two thousand cells
            self._parts = replace(self._parts, normals=NormalsShelf(self._settings.history_years))
            self._cells = 1
        return self._parts


def _answer(stored: StoredNight, parts: _Parts) -> Again | str:
    """One night; whatever goes wrong is told in a sentence."""
    from rootbound_service.nights.again import night_again
    from rootbound_service.nights.operator import in_short

    try:
        return night_again(parts.at(stored.moment), stored)
    except Exception as error:  # noqa: BLE001  the next one may be computed well
        return in_short(error)
