"""What ``rootbound doctor`` asks of the database, and of the service once that is open."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING

from rootbound_service.cli.checking_shown import Group
from rootbound_service.errors import RefusedInput, ServiceError

if TYPE_CHECKING:
    from rootbound_service.cli.service import Service
    from rootbound_service.cli.session import Session
    from rootbound_service.public.finding import Finding
    from rootbound_service.settings import Settings


def check_store(settings: Settings) -> list[Finding]:
    """Look at the tables before anything is opened, which might change them.

    Parameters
    ----------
    settings
        Where the database is.
    """
    from sqlalchemy.exc import SQLAlchemyError

    from rootbound_service.nights.checkup_database import look_at_tables
    from rootbound_service.store.engine import make_engine

    try:
        engine = make_engine(settings.database_url)
        try:
            return [look_at_tables(engine, auto=settings.auto_migrate)]
        finally:
            engine.dispose()
    except (ServiceError, SQLAlchemyError, OSError) as error:
        return [closed(error)]


def check_opened(session: Session, groups: list[Group], *, here: bool) -> list[Group]:
    """Open the service and look at its store; ask the sources unless told not to.

    Parameters
    ----------
    session
        Opens it.
    groups
        What was found before: this machine, settings, database, in this order.
    here
        Ask nobody.

    Returns
    -------
    list of Group
        Those, and what was found.
    """
    from sqlalchemy.exc import SQLAlchemyError

    machine, settings, database = groups
    with ExitStack() as stack:
        try:
            service = stack.enter_context(session.service())
            told, running = _database(service), _service(service)
        except (ServiceError, SQLAlchemyError, OSError) as error:
            bad = Group(database.title, [*database.found, closed(error)])
            return [machine, settings, bad]
        found = [
            Group(machine.title, machine.found),
            settings,
            Group(database.title, [*database.found, *told]),
            Group("Service", running),
        ]
        if here:
            return found
        sources, clock = _sources(service)
        found[0].found[:0] = clock
        return [*found, Group("Sources", sources)]


def closed(error: Exception) -> Finding:
    """Say that the database cannot be used.

    Parameters
    ----------
    error
        What was raised; a driver's own words may hold names and addresses, and are not told.
    """
    from rootbound_service.public.finding import Finding

    if isinstance(error, RefusedInput):
        first = error.problems[0]
        why = "the service cannot be opened"
        return Finding(first.where, well=False, said=first.what, why=why, mend=first.wanted)
    said = f"cannot be used ({type(error).__name__})"
    if isinstance(error, ServiceError):
        said = str(error).splitlines()[0]
    return Finding(
        "database",
        well=False,
        said=said,
        why="nothing of what is stored can be read",
        mend="is it where ROOTBOUND_DATABASE_URL says, may this user open it, does its server run?",
    )


def _database(service: Service) -> list[Finding]:
    from rootbound_service.nights.checkup_database import look_at_sqlite
    from rootbound_service.nights.checkup_postgres import look_at_postgres
    from rootbound_service.store.sqlite_module import choose_sqlite

    found = look_at_sqlite(service.engine, safe_log=choose_sqlite().wal)
    return found + look_at_postgres(service.engine, service.clock.now)


def _service(service: Service) -> list[Finding]:
    from zoneinfo import available_timezones

    from rootbound_service.nights.checkup_running import check_running, read_running
    from rootbound_service.nights.checkup_weather import look_at_weather
    from rootbound_service.nights.checkup_zones import check_zones, zones_used
    from rootbound_service.nights.history import growing_fields
    from rootbound_service.weather.where import weather_place

    now = service.clock.now()
    weather = look_at_weather(weather_place(service.parts.settings), f"{now:%Y%m%d-%H%M%S-%f}")
    growing = len(growing_fields(service.parts, now.date()))
    with service.engine.execution_options(ro=True).connect() as conn:
        zones = check_zones(zones_used(conn), available_timezones())
        return [*check_running(read_running(conn, growing, now), now), zones, weather]


def _sources(service: Service) -> tuple[list[Finding], list[Finding]]:
    """What the sources say, and what one that answered says of the clock."""
    from rootbound_service.nights.checkup import check_sources
    from rootbound_service.public.checkup_clock import ask_the_time

    parts = service.parts
    found = check_sources(parts, service.clock.now())
    names = (*parts.feeds, *parts.forecast_sources, *parts.soils)
    answered = [name for name, one in zip(names, found, strict=True) if one.well]
    urls = [str(getattr(parts.settings, f"{name}_url", "")) for name in answered]
    return found, ask_the_time(parts.caller, filter(None, urls), service.clock.now)
