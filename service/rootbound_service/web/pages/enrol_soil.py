"""The soil below a field that is being enrolled: asked for while somebody waits, and not for long.

What a service said is remembered for half an hour, so that pressing on does not ask it again.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rootbound_service.soil.ask import Asked, ask_soil
from rootbound_service.soil.build import sources_at
from rootbound_service.soil.fetch import fetch_soils
from rootbound_service.store.soil_answers import place_key

if TYPE_CHECKING:
    from fastapi import Request

    from rootbound_service.records import FieldRecord
    from rootbound_service.soil.profile import Profile, SoilSource
    from rootbound_service.wiring import Service

ASK_S = 8.0
"""So long somebody waits for the soil at the edge of a field. [s]"""
ASKING = ThreadPoolExecutor(4, thread_name_prefix="soil")
REMEMBERED, REMEMBERED_FOR = 64, timedelta(minutes=30)


@dataclass
class SoilMemory:
    """What the services said of a few places, lately."""

    kept: OrderedDict[str, tuple[datetime, Asked]] = field(default_factory=OrderedDict)

    def get(self, place: str, now: datetime) -> Asked | None:
        """What is remembered of a place; an answer that may come better later is not."""
        at, asked = self.kept.get(place, (None, None))
        return asked if at is not None and now - at < REMEMBERED_FOR else None

    def put(self, place: str, now: datetime, asked: Asked) -> None:
        """Remember what was said."""
        if asked.profile is None or asked.retry_later:
            return
        self.kept[place] = (now, asked)
        while len(self.kept) > REMEMBERED:
            self.kept.popitem(last=False)


@dataclass(frozen=True, slots=True)
class SaidAlready:
    """A service whose answer is known."""

    name: str
    title: str
    profile: Profile

    def covers(self, lat: float, lon: float) -> bool:
        """It has answered for this place."""
        del lat, lon
        return True

    def fetch(self, lat: float, lon: float) -> Profile:
        """Give the answer again."""
        del lat, lon
        return self.profile


def soil_at(
    service: Service, memory: SoilMemory, record: FieldRecord, wait_s: float = ASK_S
) -> Asked:
    """Ask the soil services now; what fails is asked again in the nights.

    Parameters
    ----------
    service
        The wired service.
    memory
        What was said lately.
    record
        The field.
    wait_s
        Longest time somebody waits. [s]
    """
    now, place = service.clock.now(), place_key(record.lat, record.lon)
    known = memory.get(place, now)
    if known is not None:
        return known
    parts = service.parts
    sources = sources_at(parts.order, parts.soils)(record.lat, record.lon)
    answer = ASKING.submit(ask_soil, sources, record.lat, record.lon)
    try:
        asked = answer.result(wait_s)
    except TimeoutError:
        answer.cancel()
        return _none(f"no soil service answered within {wait_s:.0f} seconds")
    except Exception as error:  # noqa: BLE001  a service that breaks costs nobody the enrolment
        return _none(f"the soil service failed ({type(error).__name__})")
    memory.put(place, now, asked)
    return asked


def fetch_soil(service: Service, memory: SoilMemory, stored: FieldRecord) -> None:
    """Keep the soil of a field that was just enrolled.

    Parameters
    ----------
    service
        The wired service.
    memory
        What was said lately: of a place in it nobody is asked again.
    stored
        The field.
    """
    now, parts = service.clock.now(), service.parts
    known = memory.get(place_key(stored.lat, stored.lon), now)
    sources = sources_at(parts.order, parts.soils)
    if known is not None and known.profile is not None:
        said = _said(parts.soils.get(known.profile.source), known.profile)

        def again(lat: float, lon: float) -> Sequence[SoilSource]:
            del lat, lon
            return (said,)

        sources = again
    fetch_soils(parts.engine, sources, (stored,), now)


def memory_of(request: Request) -> SoilMemory:
    """The memory of the application behind a request."""
    found = getattr(request.app.state, "soil_memory", None)
    if not isinstance(found, SoilMemory):
        found = request.app.state.soil_memory = SoilMemory()
    return found


def _said(source: SoilSource | None, profile: Profile) -> SaidAlready:
    return SaidAlready(profile.source, source.title if source else profile.source, profile)


def _none(why: str) -> Asked:
    return Asked(None, (), (why,), retry_later=True)
