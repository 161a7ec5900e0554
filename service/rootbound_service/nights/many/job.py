"""A night's chunks as a job of the sweep: each is computed from its input and the stored sky."""

from __future__ import annotations

import pickle
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.nights.many.columns import to_columns, to_text
from rootbound_service.nights.many.pasts import FOLDER as PASTS
from rootbound_service.nights.many.weighed import Chunk, Rules, weigh_chunk
from rootbound_service.nights.many.whole import to_bytes, whole_of
from rootbound_service.nights.parts import CellNight
from rootbound_service.nights.settle import settle
from rootbound_service.records import (
    DigRecord,
    FieldRecord,
    ObservationRecord,
    Person,
    RiskRecord,
    SoilRecord,
)
from rootbound_service.sweep.light import travel_light
from rootbound_service.weather.places import Place

if TYPE_CHECKING:
    from numpy.typing import NDArray

travel_light(FieldRecord, RiskRecord, SoilRecord, DigRecord, ObservationRecord, Person)
INPUTS, LETTERS = "inputs", "letters"


Sky = Callable[
    [Sequence[Place], Mapping[str, set[str]], date, dict[str, str]], Mapping[str, CellNight]
]
"""Works out the days of a chunk's cells; :func:`rootbound_service.nights.gather.ready_cells`
with its parts given."""


@dataclass(frozen=True, slots=True)
class Input:
    """What a chunk is computed from, beside the sky."""

    fields: tuple[FieldRecord, ...]
    memory: dict[int, RiskRecord]
    places: tuple[Place, ...]
    cell_of: dict[int, str]
    troubles: dict[str, str]


@dataclass(frozen=True, slots=True)
class NightJob:
    """The chunks of one night; see :class:`rootbound_service.sweep.job.Job`."""

    folder: Path
    """Every worker reaches it under this name."""
    count: int
    fingerprint: str
    rules: Rules
    open_sky: Callable[[], Sky]
    """Called in the worker; it keeps what it opens."""

    def compute(self, number: int) -> dict[str, NDArray[Any]]:
        """Compute one chunk.

        Parameters
        ----------
        number
            Of the chunk, from 0.
        """
        _settle_once()
        packed = input_path(self.folder, number).read_bytes()
        given: Input = pickle.loads(packed)  # noqa: S301  written by our own coordinator
        return compute_chunk(given, self.rules, self.open_sky(), self.folder) | {
            "input": np.frombuffer(sha256(packed).digest(), np.uint8)
        }


@cache
def _settle_once() -> None:
    """A worker looks at what its libraries made once, not with every field."""
    settle()


def compute_chunk(given: Input, rules: Rules, sky: Sky, folder: Path) -> dict[str, NDArray[Any]]:
    """Compute a chunk's fields: the quiet ones side by side, the others singly.

    Parameters
    ----------
    given, rules, sky
        What it is computed from.
    folder
        Where past years are left for the record.
    """
    troubles = dict(given.troubles)
    crops: dict[str, set[str]] = {}
    for one in given.fields:
        crops.setdefault(given.cell_of[one.id], set()).add(one.crop)
    cells = sky(given.places, crops, rules.night, troubles)
    chunk = Chunk(given.fields, given.memory, cells, given.cell_of, troubles)
    found = weigh_chunk(chunk, rules)
    whole = whole_of(found.whole, chunk, rules, folder)
    new = {key: said for key, said in troubles.items() if key not in given.troubles}
    return {
        **to_columns(found.quiet),
        "silent": to_text(found.silent + whole.silent),
        "troubles": to_text(new),
        "whole": to_bytes(whole),
    }


def input_path(folder: Path, number: int) -> Path:
    """Where a chunk's input lies."""
    return folder / INPUTS / f"{number:08d}.input"


def write_input(folder: Path, number: int, given: Input) -> bytes:
    """Lay a chunk's input out.

    Parameters
    ----------
    folder
        Of the sweep.
    number
        Of the chunk.
    given
        What it is computed from.

    Returns
    -------
    bytes
        Its fingerprint, as the part made from it keeps it.
    """
    packed = pickle.dumps(given, protocol=5)
    path = input_path(folder, number)
    passing = path.with_suffix(".passing")
    passing.write_bytes(packed)
    passing.replace(path)
    return sha256(packed).digest()


def make_folders(folder: Path) -> None:
    """Make the folders that a night's sweep writes to, for nobody else to read.

    Parameters
    ----------
    folder
        Of the sweep.
    """
    for one in (folder, folder / INPUTS, folder / PASTS):
        one.mkdir(mode=0o700, parents=True, exist_ok=True)


def let_go(folder: Path) -> None:
    """Delete what a recorded night was computed from: it names people and their fields.

    Parameters
    ----------
    folder
        Of the sweep; the names of stored past years stay.
    """
    for one in (folder / INPUTS, folder / LETTERS):
        shutil.rmtree(one, ignore_errors=True)
