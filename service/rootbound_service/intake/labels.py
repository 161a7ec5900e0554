"""How a problem names the value it is about, for each way of giving it."""

from __future__ import annotations

from rootbound_service.intake.sections import SECTIONS
from rootbound_service.intake.wrong import Label


def plain(name: str) -> str:
    """The bare name."""
    return name


def flag(name: str) -> str:
    """A command line flag: ``--row-spacing-cm``."""
    return "--" + name.replace("_", "-")


def toml_key(name: str) -> str:
    """A key with its table: ``[soil] texture``."""
    for section, keys in SECTIONS.items():
        if name in keys:
            return f"[{section}] {name}"
    return name


def toml_dig(number: int) -> Label:
    """A key of the n-th dig: ``[[dig]] 2, wall_class``."""
    return lambda name: f"[[dig]] {number}, {name}"


def line(number: int) -> Label:
    """A cell of a table: ``line 3, lat``."""
    return lambda name: f"line {number}, {name}"


def feature(number: int) -> Label:
    """A property of a GeoJSON feature: ``feature 3, planted``."""
    return lambda name: f"feature {number}, {name}"
