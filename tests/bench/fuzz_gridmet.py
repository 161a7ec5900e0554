"""Throws bytes at the reader of gridMET's texts: a right value or a refusal, nothing else.

Run with ``python tests/bench/fuzz_gridmet.py -max_total_time=180``; libFuzzer's options pass on.
A mutation starts from the recorded shapes, so that the parser's depths are reached.
"""

from __future__ import annotations

import sys
import tempfile
from datetime import date
from pathlib import Path

try:
    import atheris
except ImportError:
    print("skipped: atheris is not installed (pip install atheris)")
    sys.exit(0)

import numpy as np

atheris.enabled_hooks.add("RegEx")
atheris.enabled_hooks.add("str")
with atheris.instrument_imports(include=["rootbound_service.weather.sources"]):
    from rootbound_service.public.http import Reply, Unavailable
    from rootbound_service.weather.sources.gridmet_ascii import read_ascii
    from rootbound_service.weather.sources.gridmet_das import Packing, read_das, read_dds
    from rootbound_service.weather.sources.gridmet_names import TMAX, Box, day_index
    from rootbound_service.weather.sources.gridmet_reply import text_of

SHAPES = Path(__file__).parents[2] / "fixtures" / "shapes"
WHO = "gridMET, fuzz"
START = day_index(date(2026, 7, 3))
BOX = Box(range(START, START + 4), range(177, 178), range(748, 749))
PACKING = Packing(0.1, 220.0, (32767.0,), "K", unsigned=True)
SEEDS = (
    (b"a", "gridmet_tmmx_point.ascii"),
    (b"d", "gridmet_tmmx.das"),
    (b"l", "gridmet_tmmx.dds"),
    (b"a", "gridmet_error.txt"),
)


def once(content: bytes) -> None:
    """Read one input; only a refusal may be raised."""
    try:
        read(content[:1], content[1:])
    except Unavailable:
        return


def read(kind: bytes, body: bytes) -> None:
    """Read a body as what its first byte says."""
    text = text_of(Reply(200, body, "text/plain"), WHO)
    if kind == b"d":
        packing, _ = read_das(text, TMAX, WHO)
        check(packing.unpack(np.array([0.0, 65535.0])), (2,))
    elif kind == b"l":
        read_dds(text, WHO)
    else:
        check(read_ascii(text, TMAX, BOX, PACKING, date(1900, 1, 1), WHO), BOX.shape)


def check(values: np.ndarray, shape: tuple[int, ...]) -> None:
    """Hold values against what packed numbers can be."""
    if values.shape != shape or np.isinf(values).any():
        raise AssertionError(values)


def main() -> None:
    """Fuzz until libFuzzer's options say stop."""
    with tempfile.TemporaryDirectory() as corpus:
        for kind, name in SEEDS:
            (Path(corpus) / name).write_bytes(kind + (SHAPES / name).read_bytes())
        atheris.Setup([*sys.argv, corpus], once)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
