"""Reads presets: the operator's own files, and those that come with the program."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path

from pydantic import ValidationError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.weather.sources.cf_preset import Preset

HERE = "rootbound_service.weather.sources"
SHIPPED = ("chirps_v2", "gridmet_year", "nclimgrid", "nclimgrid_by_variable")
"""The presets that come with the program."""


def read_preset(path: Path) -> Preset:
    """Read and check a preset.

    Parameters
    ----------
    path
        A TOML file.

    Raises
    ------
    RefusedInput
        With every problem, named by its place in the file.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        what = f"cannot be read ({type(error).__name__})"
        raise RefusedInput((Problem(str(path), what, "name a readable text file"),)) from None
    return parse_preset(text, str(path), path.parent)


def shipped_preset(name: str) -> Preset:
    """Give one of the presets that come with the program.

    Parameters
    ----------
    name
        One of ``SHIPPED``.
    """
    text = files(HERE).joinpath("presets", f"{name}.toml").read_text("utf-8")
    return parse_preset(text, f"{name}.toml", Path())


def parse_preset(text: str, where: str, folder: Path) -> Preset:
    """Check the text of a preset.

    Parameters
    ----------
    text
        TOML.
    where
        Its file, for the sentences.
    folder
        From which relative paths count.

    Raises
    ------
    RefusedInput
        With every problem, named by its place in the file.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RefusedInput((Problem(where, f"it is no TOML ({error})", "mend it"),)) from None
    if "folder" in document:
        raise RefusedInput((Problem(f"{where} folder", "there is no such part", "remove it"),))
    try:
        return Preset(**document, folder=folder)
    except ValidationError as error:
        raise RefusedInput(tuple(_problems(error, where))) from None


def _problems(error: ValidationError, where: str) -> list[Problem]:
    """Say each error with its place."""
    found: list[Problem] = []
    for item in error.errors(include_url=False):
        said = item["msg"].removeprefix("Value error, ")
        if item["type"] == "value_error" and not item["loc"]:
            for line in said.splitlines():
                place, what, wanted = _three(line)
                found.append(Problem(f"{where} {place}", what, wanted))
            continue
        place = ".".join(str(part) for part in item["loc"])
        what = "it is missing" if item["type"] == "missing" else f"{item['input']!r} is wrong"
        found.append(Problem(f"{where} {place}", what, said[:1].lower() + said[1:]))
    return found


def _three(line: str) -> tuple[str, str, str]:
    """Cut a sentence of a check into where, what and wanted."""
    place, _, rest = line.partition(": ")
    what, _, wanted = rest.rpartition("; ")
    return place, what, wanted


def moved(preset: Preset, old: str, new: str) -> Preset:
    """Give the preset with its files at another address.

    Parameters
    ----------
    preset
        The preset.
    old, new
        Beginning of the addresses, and what takes its place.
    """
    entries = tuple(
        entry.model_copy(update={"where": new + entry.where.removeprefix(old)})
        if entry.where.startswith(old)
        else entry
        for entry in preset.files
    )
    return preset.model_copy(update={"files": entries})
