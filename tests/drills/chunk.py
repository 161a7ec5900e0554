"""A spoiled chunk of the stored weather: it is said, the others go on, a night mends it."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from random import Random

from drills.held import Tally, held_by
from drills.rest import morning, night_is_done, run_night
from drills.world import NIGHT, SMALL_HOURS, World, at

NEXT = NIGHT + timedelta(days=1)


def _flip(path: Path, rng: Random) -> None:
    data = bytearray(path.read_bytes())
    for _ in range(8):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    path.write_bytes(data)


def _head(path: Path, rng: Random) -> None:
    data = bytearray(path.read_bytes())
    data[: min(16, len(data))] = rng.randbytes(min(16, len(data)))
    path.write_bytes(data)


def _truncate(path: Path, rng: Random) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: rng.randrange(len(data))])


def _empty(path: Path, _: Random) -> None:
    path.write_bytes(b"")


def _remove(path: Path, _: Random) -> None:
    path.unlink()


HARM: dict[str, Callable[[Path, Random], None]] = {
    "bits flipped": _flip, "head spoiled": _head, "cut short": _truncate, "emptied": _empty,
    "removed": _remove,
}  # fmt: skip


def chunk(world: World, times: int, seed: int = 5) -> Tally:
    """Spoil one file of a store before a night; look at that night and at the next."""
    tally, rng, begun = Tally("spoiled chunk"), Random(seed), time.monotonic()
    with world.place() as place:
        run_night(place)
        place.set(at(NEXT, SMALL_HOURS))
        run_night(place, NEXT)
        morning(place, NEXT)
        quiet = held_by(place)
    for number in range(times):
        with world.place() as place:
            files = sorted(_chunks(place.folder))
            path, harm = rng.choice(files), list(HARM)[number % len(HARM)]
            HARM[harm](path, rng)
            name = f"{number} {path.relative_to(place.folder / 'weather')} {harm}"
            first = run_night(place)
            place.set(at(NEXT, SMALL_HOURS))
            second = run_night(place, NEXT)
            morning(place, NEXT)
            told = bool(re.search(r"weather_mended|cannot be used|could not", first.text))
            tally.take(name, held_by(place), quiet, hit=told)
            tally.hear(first.text + second.text)
            if not night_is_done(place, NEXT):
                tally.wrong.append(f"{name}: no night")
    tally.seconds = time.monotonic() - begun
    return tally


def _chunks(folder: Path) -> list[Path]:
    """The files of the stores that hold values or facts, and their descriptions."""
    return [one for one in (folder / "weather").rglob("*") if one.is_file() and ".zarr" in str(one)]
