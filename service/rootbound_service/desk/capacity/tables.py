"""The model as tables: heads and rows of text, for a terminal and for the page alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.desk.capacity.limits import SHARE, resources
from rootbound_service.desk.capacity.pulls import seconds_of
from rootbound_service.desk.capacity.words import HOUR_S, count, lasting, share, size

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from rootbound_service.desk.capacity.night import Sized
    from rootbound_service.desk.capacity.played import Played
    from rootbound_service.desk.capacity.steps import Step

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Heads and rows."""

    heads: Row
    rows: tuple[Row, ...]


def asking(sizes: Sequence[Sized]) -> Table:
    """What public services are asked: cells, requests, time, bytes.

    Parameters
    ----------
    sizes
        What the model says, a column each.
    """
    titles = dict.fromkeys(pull.title for one in sizes for pull in one.pulls.usual)
    lines: list[tuple[str, Callable[[Sized], str]]] = [
        ("cells of weather", lambda one: count(one.lying.every)),
        ("fields a cell", lambda one: count(one.asked.fields / one.lying.every)),
        *((f"requests a night, {title}", _requests(title)) for title in titles),
        ("a usual night's pulls", lambda one: lasting(one.pull_s)),
        ("those of the first of a month", lambda one: lasting(seconds_of(one.pulls.first))),
        ("past years of a new service, once", lambda one: lasting(seconds_of(one.pulls.past))),
        ("comes in a night", lambda one: size(sum(p.gigabytes for p in one.pulls.usual))),
        ("comes in once, past years", lambda one: size(sum(p.gigabytes for p in one.pulls.past))),
    ]
    return _columns(sizes, lines)


def working(sizes: Sequence[Sized]) -> Table:
    """What is computed, written and kept.

    Parameters
    ----------
    sizes
        What the model says, a column each.
    """
    lines: list[tuple[str, Callable[[Sized], str]]] = [
        ("chunks a night", lambda one: count(one.chunks)),
        ("computing, core hours a night", lambda one: count(one.compute_core_s / HOUR_S)),
        ("risk rows a night", lambda one: count(one.rows)),
        ("one writer needs for them", lambda one: lasting(one.rows_s)),
        ("write-ahead log a night", lambda one: size(one.stored.wal_a_night)),
        ("risk rows a season", lambda one: count(one.rows * one.asked.habits.nights)),
        ("in partitions of a month", lambda one: count(one.partitions)),
        ("each of", lambda one: size(one.stored.risk / one.partitions)),
        ("risk rows by the end of a season", lambda one: size(one.stored.risk)),
        ("notes, letters, pictures by then", lambda one: size(one.stored.other)),
        ("weather, past years and forecasts", lambda one: size(one.stored.weather)),
        ("files of forecasts a season", lambda one: count(one.stored.weather_files)),
        ("parts of chunks in the shared folder", lambda one: size(one.stored.parts_a_night)),
    ]
    return _columns(sizes, lines)


def telling(sizes: Sequence[Sized]) -> Table:
    """Notes, letters, texts on a usual night and in a bad spell.

    Parameters
    ----------
    sizes
        What the model says, a column each.
    """
    lines: list[tuple[str, Callable[[Sized], str]]] = [
        ("notes, a usual night", lambda one: count(one.usual.notes)),
        ("letters, a usual night", lambda one: count(one.usual.letters)),
        ("texts, a usual night", lambda one: count(one.usual.texts)),
        ("notes, a night of a bad spell", lambda one: count(one.drought.notes)),
        ("letters, the same night", lambda one: count(one.drought.letters)),
        ("texts, the same night", lambda one: count(one.drought.texts)),
        ("letters to write then, core hours", lambda one: count(one.letter_core_s / HOUR_S)),
        ("weekly letters, all on one day", lambda one: count(one.digests)),
        ("letters a second in time", lambda one: count(_a_second(one, one.drought.letters))),
        ("texts a second in time", lambda one: count(_a_second(one, one.drought.texts))),
        ("letters go out that morning", lambda one: size(_letters_gb(one))),
        ("pages a second, busiest hour", lambda one: count(one.web_per_s)),
        ("cores for pages", lambda one: count(one.web_cores)),
    ]
    return _columns(sizes, lines)


def costing(sizes: Sequence[Sized]) -> Table:
    """What costs money over a season, as hours and amounts; no prices.

    Parameters
    ----------
    sizes
        What the model says, a column each.
    """
    lines: list[tuple[str, Callable[[Sized], str]]] = [
        ("core hours of nights and letters", lambda one: count(one.core_hours_a_season)),
        ("database and weather kept", lambda one: size(one.stored.kept)),
        ("write-ahead log to archive", lambda one: size(_season(one, one.stored.wal_a_night))),
        ("comes in", lambda one: size(_season(one, sum(p.gigabytes for p in one.pulls.usual)))),
        ("letters, notes and digests", lambda one: count(one.letters_a_season)),
        ("letters go out", lambda one: size(one.letters_a_season * _letter_gb(one))),
        ("texts", lambda one: count(_season(one, one.usual.texts))),
    ]
    return _columns(sizes, lines)


def scarce(one: Sized) -> Table:
    """Every resource of one size, the scarcest first.

    Parameters
    ----------
    one
        What the model says.
    """
    rows = tuple(
        (item.name, _amount(item.load, item.unit), _amount(item.limit, item.unit),
         share(item.used), "" if item.used <= SHARE else "too little")
        for item in resources(one)
    )  # fmt: skip
    return Table(("resource", "needed", "there is", "used", ""), rows)


def mended(found: Sequence[Step]) -> Table:
    """What breaks first and what then serves, in order.

    Parameters
    ----------
    found
        The steps.
    """
    rows = tuple(
        (str(place), step.name, share(step.used), step.mend.words, _today(step))
        for place, step in enumerate(found, 1)
    )
    return Table(("", "runs out", "used", "what then serves", "today"), rows)


def nights(played: Sequence[Played]) -> Table:
    """Simulated nights, a row each.

    Parameters
    ----------
    played
        The nights.
    """
    rows = tuple(
        (
            str(one.night),
            lasting(one.pulled_s),
            lasting(one.stored_s),
            lasting(one.written_s),
            lasting(one.out_s),
            count(one.letters),
            count(one.texts),
            count(one.stations["chunks"].lost),
            count(one.longest("mail")),
            one.narrowest,
        )
        for one in played
    )
    heads = (
        "night", "pulled", "risk stored", "letters written", "last note out", "letters", "texts",
        "chunks lost", "longest line of mail", "longest part",
    )  # fmt: skip
    return Table(heads, rows)


def _columns(sizes: Sequence[Sized], lines: Sequence[tuple[str, Callable[[Sized], str]]]) -> Table:
    """A column for each size."""
    heads = ("fields", *(count(one.asked.fields) for one in sizes))
    return Table(heads, tuple((name, *(told(one) for one in sizes)) for name, told in lines))


def _requests(title: str) -> Callable[[Sized], str]:
    def told(one: Sized) -> str:
        return count(sum(pull.requests for pull in one.pulls.usual if pull.title == title))

    return told


def _amount(value: float, unit: str) -> str:
    if unit == "s":
        return lasting(value)
    return size(value) if unit == "GB" else f"{count(value)} {unit}"


def _a_second(one: Sized, many: float) -> float:
    return many / one.asked.habits.telling_s


def _letter_gb(one: Sized) -> float:
    return one.measured["letter_bytes"] / 1e9


def _letters_gb(one: Sized) -> float:
    return one.drought.letters * _letter_gb(one)


def _season(one: Sized, a_night: float) -> float:
    return a_night * one.asked.habits.nights


def _today(step: Step) -> str:
    if step.mend.asked is None:
        return "no"
    return "yes" if step.mend.built else "not built"
