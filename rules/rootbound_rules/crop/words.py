"""The words of a crop's file: names of its stages, and what it has no source for."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from rootbound_rules.errors import RulesError

CROPS = ("maize", "soybean", "sorghum")


@dataclass(frozen=True, slots=True)
class Gap:
    """Something a season of a crop rests on without a source of its own."""

    rows: tuple[str, ...]
    """Rows of the crop's table that it is about; none where the number stands elsewhere."""
    text: str


@dataclass(frozen=True, slots=True)
class CropWords:
    """What the trade calls the stages of one crop.

    Parameters
    ----------
    collar
        Pattern of a vegetative stage: ``V{}``, ``{}-leaf``.
    up
        From emergence to the first collar.
    keys, stages
        Every later stage in order, as rows of the table call it and as the trade does; the
        last is maturity.
    critical
        Key of the stage that the critical window lies around.
    filled
        Key of the stage from which the canopy dries and ``failing`` no longer applies.
    shown
        Stages that part a picture of the season into bands.
    gaps
        What has no source.
    """

    collar: str
    up: str
    keys: tuple[str, ...]
    stages: tuple[str, ...]
    critical: str
    filled: str
    shown: tuple[str, ...]
    gaps: tuple[Gap, ...]

    @property
    def mature(self) -> str:
        """Name of the last stage."""
        return self.stages[-1]

    def at_collar(self, collars: int) -> str:
        """Name of a vegetative stage by its collars."""
        return self.collar.format(collars) if collars else self.up


@cache
def crop_words(name: str) -> CropWords:
    """Read the words of a crop.

    Parameters
    ----------
    name
        One of :data:`CROPS`.

    Raises
    ------
    RulesError
        If there is no such crop, naming those there are.
    """
    if name not in CROPS:
        raise RulesError(f"no table for crop {name!r}; there are: {', '.join(CROPS)}")
    path = files("rootbound_rules").joinpath("data", f"{name}.toml")
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    names = document["names"]
    return CropWords(
        collar=names["collar"],
        up=names["up"],
        keys=tuple(key for key, _ in names["stages"]),
        stages=tuple(stage for _, stage in names["stages"]),
        critical=names["critical"],
        filled=names["filled"],
        shown=tuple(names["shown"]),
        gaps=tuple(Gap(tuple(gap["rows"]), gap["text"]) for gap in document["gap"]),
    )
