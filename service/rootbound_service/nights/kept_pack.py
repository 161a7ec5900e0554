"""Past years of a cell in few bytes, so that they come back to the digit.

Stored weather has four decimals: as whole numbers thirty years of six series take some 140 kB
and a millisecond, as they stand 230 kB and eleven. A series with other numbers stays as it is.
"""

from __future__ import annotations

import json
import zlib
from datetime import date
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.season.values import DailyWeather
from rootbound_service.errors import ServiceError
from rootbound_service.nights.kept import past_of, weather_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.season.values import Series

FORM = 2
"""Of what is packed; form 1 was zlib over every series as it stands."""
STEPS = 10_000.0
"""Of one unit: the decimals of stored weather."""
LEVEL = 3
"""Of compression: higher ones take twice as long for a hundredth."""
GAP = np.iinfo(np.int32).min
MOST = float(np.iinfo(np.int32).max)


def pack_past(weather: DailyWeather, cut: date) -> bytes:
    """Pack every day before ``cut`` so that it comes back to the digit.

    Parameters
    ----------
    weather, cut
        As for :func:`rootbound_service.nights.kept.past_fingerprint`.
    """
    whole: dict[str, NDArray[np.int32]] = {}
    other: dict[str, Series] = {}
    for name, series in past_of(weather, cut).items():
        steps = _whole(series)
        if steps is None:
            other[name] = series
        else:
            whole[name] = steps
    first = _squeezed(np.array([*whole.values()], "<i4")) if whole else b""
    rest = _squeezed(np.array([*other.values()], "<f8")) if other else b""
    head = {
        "form": FORM,
        "start": weather.start.isoformat(),
        "names": [*whole, *other],
        "whole": len(whole),
        "bytes": len(first),
    }
    return b"".join((json.dumps(head).encode(), b"\n", first, rest))


def unpack_past(packed: bytes) -> DailyWeather:
    """Unpack what :func:`pack_past` packed, now or in form 1.

    Parameters
    ----------
    packed
        The bytes.

    Raises
    ------
    ServiceError
        If they are not what this version can read.
    """
    try:
        return weather_of(*(_form_2(packed) if packed[:1] == b"{" else _form_1(packed)))
    except (zlib.error, RuntimeError, ValueError, KeyError, RulesError) as error:
        raise ServiceError(f"the kept weather cannot be read: {error}") from None


def _whole(series: Series) -> NDArray[np.int32] | None:
    """A series in whole steps; None where that would change a number."""
    steps = np.rint(series * STEPS)
    gaps = np.isnan(series)
    if not (gaps | ((steps / STEPS == series) & (np.abs(steps) < MOST))).all():
        return None
    return np.where(gaps, GAP, steps).astype(np.int32)


def _form_2(packed: bytes) -> tuple[date, dict[str, Series]]:
    """First day and series."""
    line, _, body = packed.partition(b"\n")
    head = cast("dict[str, Any]", json.loads(line))
    if head["form"] != FORM:
        raise ServiceError(f"the kept weather has form {head['form']}, not {FORM}")
    names, whole, end = head["names"], head["whole"], head["bytes"]
    steps = _let_out(body[:end], "<i4", whole) if whole else ()
    other = _let_out(body[end:], "<f8", len(names) - whole) if whole < len(names) else ()
    found = [np.where(one == GAP, np.nan, one / STEPS) for one in steps]
    series = dict(zip(names, [*found, *other], strict=True))
    return date.fromisoformat(head["start"]), series


def _form_1(packed: bytes) -> tuple[date, dict[str, Series]]:
    """First day and series of what was kept before form 2."""
    line, _, body = zlib.decompress(packed).partition(b"\n")
    head = cast("dict[str, Any]", json.loads(line))
    if head["form"] != 1:
        raise ServiceError(f"the kept weather has form {head['form']}, not 1")
    values = np.frombuffer(body, "<f8").reshape(len(head["names"]), -1)
    return date.fromisoformat(head["start"]), dict(zip(head["names"], values, strict=True))


def _squeezed(array: NDArray[np.generic]) -> bytes:
    """An array in few bytes: its numbers' first bytes together, then their second, and so on."""
    import numcodecs

    parts = array.view(np.uint8).reshape(array.size, array.itemsize)
    return bytes(cast("Any", numcodecs).Zstd(LEVEL).encode(np.ascontiguousarray(parts.T)))


def _let_out(packed: bytes, kind: str, series: int) -> NDArray[np.generic]:
    """Series of an array that was squeezed."""
    import numcodecs

    flat = np.frombuffer(cast("Any", numcodecs).Zstd().decode(packed), np.uint8)
    parts = flat.reshape(np.dtype(kind).itemsize, -1)
    return np.ascontiguousarray(parts.T).view(kind).reshape(series, -1)
