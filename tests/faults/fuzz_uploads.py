"""Spoilt uploads of every kind: a refusal in words is right, anything else is a fault.

    PYTHONPATH=tests .venv/bin/python tests/faults/fuzz_uploads.py --minutes 20 --seed 1

Each call must also end in 2 s of processor time, and all of them in bounded memory. A fault's
input is written to ``--keep``, with which seed and turn made it.
"""

from __future__ import annotations

import argparse
import json
import resource
import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from faults.upload_heavy import heavy_photos, heavy_shapes
from faults.upload_samples import RING, good_photos, good_shapes, shapefile_of, zip_of
from rootbound_service.errors import RefusedInput
from rootbound_service.intake.photos import clean_photo, thumbnail
from rootbound_service.intake.shapes import geometry_of, outline_of, read_shapes

CALL_S = 2.0
MEMORY_KB = 900_000
"""Peak of the process: 40 megapixels with transparency take 160 MB, twice while resized. [kB]"""


def peak_kb() -> int:
    """The most memory that the process has had. [kB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


@dataclass(slots=True)
class Tally:
    """What came of all calls."""

    ends: Counter[str] = field(default_factory=Counter)
    slowest_s: float = 0.0
    slowest: str = ""
    faults: list[str] = field(default_factory=list)
    began_kb: int = field(default_factory=peak_kb)
    """What the process had taken before: in a suite other tests have grown it."""


def spoil(chance: Random, good: bytes, other: bytes) -> bytes:
    """Spoil a file in one to eight ways."""
    data = bytearray(good)
    for _ in range(chance.choice((1, 1, 1, 2, 4, 8))):
        at = chance.randrange(len(data) + 1)
        way = chance.randrange(8)
        if way == 0 and at < len(data):
            data[at] ^= 1 << chance.randrange(8)
        elif way == 1:
            del data[at:]
        elif way == 2:
            start = chance.randrange(len(other))
            data[at:at] = other[start : start + chance.randrange(200)]
        elif way == 3:
            del data[at : at + chance.randrange(50)]
        elif way == 4:
            data[at : at + 4] = chance.choice(
                (b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff", b"\0\0\0\x80")
            )
        elif way == 5:
            data[at:at] = data[at : at + 64] * chance.randrange(1, 60)
        elif way == 6:
            data[at : at + 8] = chance.randbytes(8)
        else:
            data += other
    return bytes(data)


def random_json(chance: Random, depth: int = 0) -> object:
    """A document of the right words in a wrong order."""
    words = (
        "type",
        "Feature",
        "Polygon",
        "Point",
        "MultiPolygon",
        "features",
        "name",
        "\ud800",
        "\0",
    )
    kind = chance.randrange(9 if depth < 6 else 5)
    if kind < 5:
        numbers = (0, -1, 1e308, 10**17, -93.62, 42.03, None, True, "x")
        return chance.choice((*numbers, chance.choice(words), RING, [RING], [RING, RING]))
    if kind < 7:
        return [random_json(chance, depth + 1) for _ in range(chance.randrange(4))]
    keys = ("type", "coordinates", "geometry", "features", "properties", "crs", *words)
    made = {chance.choice(keys): random_json(chance, depth + 1) for _ in range(chance.randrange(6))}
    return made | {"type": chance.choice(("FeatureCollection", "Feature", "Polygon", "Point"))}


def random_xml(chance: Random) -> bytes:
    """A KML of the right elements in a wrong order."""
    names = (
        "Placemark",
        "Polygon",
        "outerBoundaryIs",
        "LinearRing",
        "coordinates",
        "name",
        "Point",
    )
    texts = (
        "",
        "-93.62,42.03",
        "-93.62,42.03 -93.61,42.03 -93.61,42.04",
        "1e999,1",
        ",,",
        "&amp;",
        "\u2028",
    )
    parts: list[str] = []
    opened: list[str] = []
    for _ in range(chance.randrange(60)):
        if opened and chance.random() < 0.4:
            parts.append(f"</{opened.pop()}>")
        elif chance.random() < 0.5:
            opened.append(chance.choice(names))
            parts.append(f"<{opened[-1]}>")
        else:
            parts.append(chance.choice(texts))
    body = "".join(parts) + "".join(f"</{name}>" for name in reversed(opened))
    return f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{body}</Document></kml>'.encode()


def inputs(chance: Random) -> Iterator[tuple[str, bool, bytes]]:
    """Name, whether it is given as a photo, and content: without end."""
    shapes, photos = good_shapes(), good_photos()
    for name, body in shapes.items():
        yield f"right {name}", False, body
    for name, body in photos.items():
        yield f"right {name}", True, body
    everything = {**shapes, **photos}
    members = shapefile_of([list(corner) for corner in RING])
    while True:
        name = chance.choice(list(everything))
        other = everything[chance.choice(list(everything))]
        as_photo = (name in photos) != (chance.random() < 0.03)
        yield f"spoilt {name}", as_photo, spoil(chance, everything[name], other)
        inner = chance.choice(list(members))
        broken = members | {inner: spoil(chance, members[inner], other)}
        yield f"spoilt {inner}", False, zip_of(broken)
        yield "random json", False, json.dumps(random_json(chance)).encode()
        yield "random xml", False, random_xml(chance)
        yield "spoilt packed kml", False, zip_of({"doc.kml": spoil(chance, shapes["kml"], other)})


def call(tally: Tally, name: str, data: bytes, run: Callable[[bytes], None]) -> str:
    """Give one input to one reader; the fault in words, or nothing."""
    began = time.process_time()
    fault = ""
    try:
        run(data)
        tally.ends["read"] += 1
    except RefusedInput as refusal:
        tally.ends["refused"] += 1
        if not all(p.where and p.what and p.wanted for p in refusal.problems):
            fault = f"{name}: a refusal without words: {refusal}"
        if name.startswith("right"):
            fault = f"{name}: refused: {refusal}"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        fault = f"{name}: {type(error).__name__}: {str(error)[:200]}"
    took = time.process_time() - began
    if took > tally.slowest_s:
        tally.slowest_s, tally.slowest = took, name
    if took > CALL_S:
        fault = fault or f"{name}: took {took:.1f} s"
    rise = peak_kb() - tally.began_kb
    if rise > MEMORY_KB:
        fault = fault or f"{name}: memory rose by {rise:,} kB"
    return fault


def as_shapes(data: bytes) -> None:
    """Read shapes; what was read must be read again as it was."""
    for outline in read_shapes("upload", data):
        again = outline_of(json.loads(json.dumps(geometry_of(outline), allow_nan=False)))
        assert again.rings == outline.rings, "an outline changed when read again"


def as_photo(data: bytes) -> None:
    """Clean a photo; what came out must be a plain small JPEG."""
    photo = clean_photo(data)
    assert len(photo.jpeg) <= 500_000, "a photo stayed large"
    assert photo.jpeg.startswith(b"\xff\xd8\xff\xe0"), "a photo is no plain JPEG"
    assert photo.jpeg.endswith(b"\xff\xd9"), "something follows a photo"
    assert b"Exif" not in photo.jpeg, "a photo kept its words"
    assert max(photo.width, photo.height) <= 1600, "a photo stayed wide"
    assert thumbnail(photo.jpeg), "a photo has no small picture"


def fuzz(seed: int, seconds: float, keep: Path | None = None, *, heavy: bool = True) -> Tally:
    """Spoil and read for so long."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a decoder's warning is no fault where the call ends well
        return _fuzz(seed, seconds, keep, heavy=heavy)


def _fuzz(seed: int, seconds: float, keep: Path | None, *, heavy: bool) -> Tally:
    tally = Tally()
    rounds: list[tuple[str, bool, bytes]] = []
    if heavy:
        rounds += [(f"heavy {name}", False, body) for name, body in heavy_shapes().items()]
        rounds += [(f"heavy {name}", True, body) for name, body in heavy_photos().items()]
    endless = inputs(Random(seed))
    until = time.monotonic() + seconds
    turn = 0
    while time.monotonic() < until or rounds:
        name, photo, data = rounds.pop(0) if rounds else next(endless)
        turn += 1
        tally.ends[name.split()[0]] += 1
        fault = call(tally, name, data, as_photo if photo else as_shapes)
        if fault:
            tally.faults.append(f"seed {seed}, turn {turn}, {fault}")
            print(tally.faults[-1], flush=True)
            if keep is not None:
                keep.mkdir(parents=True, exist_ok=True)
                (keep / f"{seed}-{turn}").write_bytes(data)
    return tally


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    tally = fuzz(asked.seed, 60.0 * asked.minutes, asked.keep)
    peak = peak_kb() // 1000
    print(dict(tally.ends), f"slowest {tally.slowest_s:.2f} s ({tally.slowest}), peak {peak} MB")
    print(f"{len(tally.faults)} faults")
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())
