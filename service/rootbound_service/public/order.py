"""Which service is asked for what and where: a written order, read from a TOML file."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal, cast, get_args

from rootbound_service.errors import Problem, RefusedInput

Need = Literal["days", "forecast", "soil"]
NEEDS: tuple[Need, ...] = get_args(Need)
WORLD = "world"
SIDES = ("south", "north", "west", "east")
MOST_LAT, MOST_LON = 90.0, 180.0


@dataclass(frozen=True, slots=True)
class Region:
    """A box of latitude and longitude; one whose west lies east of its east spans the date line."""

    south: float
    north: float
    west: float
    east: float

    def holds(self, lat: float, lon: float) -> bool:
        """Tell whether a place lies in it, edges included. [deg]"""
        if not self.south <= lat <= self.north:
            return False
        if self.west <= self.east:
            return self.west <= lon <= self.east
        return lon >= self.west or lon <= self.east


@dataclass(frozen=True, slots=True)
class Rule:
    """One entry: for this need, in this region, these sources in turn."""

    need: Need
    region: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """The whole written order."""

    regions: dict[str, Region]
    rules: tuple[Rule, ...]
    presets: tuple[Path, ...] = ()
    """Files that describe further grids."""

    def sources(self, need: Need, lat: float, lon: float) -> tuple[str, ...]:
        """Give the sources for a need at a place, the preferred one first.

        Parameters
        ----------
        need
            What is wanted.
        lat, lon
            The place. [deg]

        Returns
        -------
        tuple of str
            Empty where the order names none.
        """
        for rule in self.rules:
            if rule.need == need and self._holds(rule.region, lat, lon):
                return rule.sources
        return ()

    def named(self, need: Need) -> tuple[str, ...]:
        """Every source that is named for a need anywhere, each once."""
        every = (name for rule in self.rules if rule.need == need for name in rule.sources)
        return tuple(dict.fromkeys(every))

    def _holds(self, region: str, lat: float, lon: float) -> bool:
        return region == WORLD or self.regions[region].holds(lat, lon)


def read_order(path: Path | None, known: dict[Need, tuple[str, ...]]) -> Order:
    """Read the order of the sources.

    Parameters
    ----------
    path
        The operator's file; None for the one that comes with the program.
    known
        Names of the sources there are for each need. Where the file brings grids of its own,
        those of past days are checked later, when the grids are opened.

    Raises
    ------
    RefusedInput
        With every problem, named by its place in the file.
    """
    where = str(path) if path else "sources.toml"
    text = _text(path)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _refused(where, f"it is no TOML ({error})", "mend the line") from None
    problems: list[Problem] = []
    regions = {
        name: _region(f"{where} [region.{name}]", box, problems)
        for name, box in _table(document, "region", where, problems).items()
    }
    presets = _presets(document, where, path, problems)
    given: dict[Need, tuple[str, ...]] = {
        need: names for need, names in known.items() if need != "days" or not presets
    }
    rules: list[Rule] = []
    for number, entry in enumerate(_list(document, "order", where, problems), 1):
        place = f"{where} [[order]] {number}"
        rule = _rule(place, entry, regions, given, problems)
        if rule is not None:
            rules.append(rule)
    unknown = sorted(set(document) - {"region", "order", "grid"})
    problems += [
        Problem(f"{where} {name}", "there is no such part", "remove it") for name in unknown
    ]
    if problems:
        raise RefusedInput(tuple(problems))
    return Order(regions, tuple(rules), presets)


def _text(path: Path | None) -> str:
    """Text of the file, or of the one that comes with the program."""
    if path is None:
        return files("rootbound_service.public").joinpath("sources.toml").read_text("utf-8")
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise _refused(str(path), f"cannot be read ({error})", "name a readable file") from None


def _region(where: str, box: Any, problems: list[Problem]) -> Region:
    """Check one region; a wrong one is told and taken for nowhere."""
    sides = _members(box)
    numbers: dict[str, float] = {}
    wrong = len(problems)
    for side in SIDES:
        most = MOST_LAT if side in ("south", "north") else MOST_LON
        value = sides.get(side)
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= most:
            problems.append(Problem(f"{where} {side}", f"{value!r} is wrong", f"give ±{most:g}"))
            value = 0.0
        numbers[side] = float(value)
    if len(problems) == wrong and numbers["south"] > numbers["north"]:
        problems.append(Problem(where, "south lies north of north", "turn them"))
    return Region(**numbers)


def _rule(
    where: str,
    entry: Any,
    regions: dict[str, Region],
    known: dict[Need, tuple[str, ...]],
    problems: list[Problem],
) -> Rule | None:
    """Check one entry of the order."""
    given = _members(entry)
    need, region = given.get("need"), given.get("region")
    sources: list[Any] | None = given.get("sources")
    found: list[Problem] = []
    if need not in NEEDS:
        found.append(Problem(f"{where} need", f"{need!r} is wrong", f"one of {_or(NEEDS)}"))
    if not isinstance(region, str) or (region != WORLD and region not in regions):
        what = f"{region!r} is no region of this file"
        found.append(Problem(f"{where} region", what, f"one of {_or((*regions, WORLD))}"))
    if not isinstance(sources, list) or not all(isinstance(name, str) for name in sources):
        found.append(Problem(f"{where} sources", f"{sources!r} is no list of names", "give one"))
    elif need in NEEDS and need in known:
        found += [
            Problem(
                f"{where} sources", f"there is no {name!r} for {need}", f"one of {_or(known[need])}"
            )
            for name in sources
            if name not in known[need]
        ]
    problems += found
    if found:
        return None
    return Rule(need, str(region), tuple(sources))  # type: ignore[arg-type]  # checked above


def _presets(
    document: dict[str, Any], where: str, path: Path | None, problems: list[Problem]
) -> tuple[Path, ...]:
    """Paths of further grids' presets; a relative one counts from the file's folder."""
    found: list[Path] = []
    for number, entry in enumerate(_list(document, "grid", where, problems), 1):
        preset = _members(entry).get("preset")
        if isinstance(preset, str):
            found.append((path.parent if path else Path()) / preset)
        else:
            place = f"{where} [[grid]] {number} preset"
            problems.append(Problem(place, f"{preset!r} is no path", "name the preset's file"))
    return tuple(found)


def _table(
    document: dict[str, Any], name: str, where: str, problems: list[Problem]
) -> dict[str, Any]:
    found = document.get(name, {})
    if isinstance(found, dict):
        return cast("dict[str, Any]", found)
    problems.append(Problem(f"{where} {name}", "it is no table", f"write [{name}.NAME]"))
    return {}


def _list(document: dict[str, Any], name: str, where: str, problems: list[Problem]) -> list[Any]:
    found: list[Any] | object = document.get(name, [])
    if isinstance(found, list):
        return list(found)  # pyright: ignore[reportUnknownArgumentType, reportUnknownVariableType]
    problems.append(Problem(f"{where} {name}", "it is no list", f"write [[{name}]]"))
    return []


def _members(value: Any) -> dict[str, Any]:
    """A table's members; anything else has none."""
    return cast("dict[str, Any]", value) if isinstance(value, dict) else {}


def _or(names: tuple[str, ...]) -> str:
    return ", ".join(names)


def _refused(where: str, what: str, wanted: str) -> RefusedInput:
    return RefusedInput((Problem(where, what, wanted),))
