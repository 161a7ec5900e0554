"""Places of stored weather for the tests: a folder, and a bucket that speaks S3 on this machine."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest

from loopback.object_store import ObjectStore
from rootbound_service.weather.grid_object_seat import seat_in
from rootbound_service.weather.grid_seat import FolderSeat
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.objects import Objects
from rootbound_service.weather.where import place_of

PREFIXES = count()


def objects_in(bucket: ObjectStore, prefix: str | None = None) -> Objects:
    """Objects under a prefix of their own, through the variables an operator would set."""
    with pytest.MonkeyPatch.context() as patched:
        for name, value in bucket.env.items():
            patched.setenv(name, value)
        place = place_of(f"{bucket.url}/{prefix or f'trial-{next(PREFIXES)}'}")
    assert isinstance(place, Objects)
    return place


def opened(place, source="made_up"):
    """A store as another process would open it."""
    return GridStore(seat_in(place, source), source)


def the_seat(place, source="made_up"):
    """What a store lies on."""
    seat = seat_in(place, source)
    return FolderSeat(seat) if isinstance(seat, Path) else seat
