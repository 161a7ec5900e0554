"""A spoiled chunk of the stored weather: it is said, the others go on, a night mends it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random

from drills.held import Held, Tally, held_by
from drills.processes import Hangs
from drills.rest import morning, run_night
from drills.world import NIGHT, SMALL_HOURS, Place, World, at

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
        quiet = _rounded(held_by(place))
    for number in range(times):
        with world.place() as place:
            files = sorted(_chunks(place.folder))
            path, harm = rng.choice(files), list(HARM)[number % len(HARM)]
            HARM[harm](path, rng)
            name = f"{number} {path.relative_to(place.folder / 'weather')} {harm}"
            _lived(place, name, tally, quiet)
    tally.seconds = time.monotonic() - begun
    return tally


def _lived(place: Place, name: str, tally: Tally, quiet: Held) -> None:
    """Two nights and a morning after the harm; a night that fails is counted, not the end."""
    said = ""
    for night in (NIGHT, NEXT):
        place.set(at(night, SMALL_HOURS))
        try:
            said += run_night(place, night).text
        except Hangs as fault:
            tally.wrong.append(f"{name}: no night {night}, {str(fault)[-200:]}")
    morning(place, NEXT)
    tally.take(name, _rounded(held_by(place)), quiet, hit="weather_mended" in said)
    tally.hear(said)


def _rounded(held: Held) -> Held:
    """Water in reach in hundredths: who asks again hears what the source has revised since."""
    risks = ((*row, reach and round(float(reach), 2)) for *row, reach in held.risks)  # type: ignore[arg-type]
    return replace(held, risks=frozenset(risks))


def _chunks(folder: Path) -> list[Path]:
    """The files of the stores that hold values or facts, and their descriptions."""
    return [one for one in (folder / "weather").rglob("*") if one.is_file() and ".zarr" in str(one)]
