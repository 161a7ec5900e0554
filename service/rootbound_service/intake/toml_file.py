"""A field's TOML file: ``[field] [season] [soil] [people]`` and any number of ``[[dig]]``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import cast

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.fields import field_record
from rootbound_service.intake.files import read_text_file
from rootbound_service.intake.labels import toml_key
from rootbound_service.intake.sections import DIG_KEYS, FIELD_KEYS, SECTIONS
from rootbound_service.intake.wrong import unknown_key
from rootbound_service.records import FieldRecord

Table = dict[str, object]


def read_field_toml(
    path: Path, sections: Mapping[str, tuple[str, ...]] = SECTIONS
) -> dict[str, object]:
    """Read a field's TOML file, checking its shape but none of its values.

    Parameters
    ----------
    path
        The file.
    sections
        The tables it may have, and the names in each.

    Returns
    -------
    dict[str, object]
        One dict for each of field, season, soil and people that the file has, and under
        ``dig`` a list of dicts, empty where there is none.

    Raises
    ------
    RefusedInput
        If it cannot be read or has a table or key that is not known, naming the nearest.
    """
    try:
        document: Table = tomllib.loads(read_text_file(path))
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        if isinstance(error, RefusedInput):
            raise
        problem = Problem(path.name, f"is not a TOML file: {error}", "see the example in the docs")
        raise RefusedInput((problem,)) from None
    problems = _shape(document, sections)
    if problems:
        raise RefusedInput(tuple(problems))
    document.setdefault("dig", [])
    return document


def _shape(document: Table, sections: Mapping[str, tuple[str, ...]]) -> list[Problem]:
    """Tables and keys nobody knows, and values where tables belong."""
    found: list[Problem] = []
    for section, content in document.items():
        if section == "dig":
            found += _dig_shape(content)
        elif section in FIELD_KEYS:
            wanted = f"put it under its table, {toml_key(section)}"
            found.append(Problem(section, "stands outside its table", wanted))
        elif section not in sections:
            found.append(unknown_key(section, (*sections, "dig"), lambda name: f"[{name}]"))
        elif not isinstance(content, dict):
            found.append(Problem(section, "is a value", f"start a table with [{section}]"))
        else:
            found += _keys(f"[{section}]", cast("Table", content), sections[section])
    return found


def _dig_shape(content: object) -> list[Problem]:
    cards = cast("list[object]", content) if isinstance(content, list) else None
    if cards is None or not all(isinstance(card, dict) for card in cards):
        return [Problem("dig", "is not a list of tables", "start each dig with [[dig]]")]
    return [
        problem
        for number, card in enumerate(cards, 1)
        for problem in _keys(f"[[dig]] {number},", cast("Table", card), DIG_KEYS)
    ]


def _keys(where: str, content: Table, known: tuple[str, ...]) -> list[Problem]:
    return [
        unknown_key(key, known, lambda name: f"{where} {name}")
        for key in content
        if key not in known
    ]


def flat(document: Mapping[str, object]) -> Table:
    """Take the tables of :func:`read_field_toml` apart into flat names, digs left out."""
    values: Table = {}
    for section in SECTIONS:
        values |= cast("Table", document.get(section, {}))
    return values


def digs_of(document: Mapping[str, object]) -> list[Table]:
    """Take the digs out of what :func:`read_field_toml` returned."""
    return cast("list[Table]", document.get("dig", []))


def field_from_toml(path: Path, *, today: date) -> FieldRecord:
    """Make a field's record from its TOML file.

    Parameters
    ----------
    path
        The file.
    today
        See :func:`rootbound_service.intake.fields.field_record`.

    Returns
    -------
    FieldRecord
        With its digs; not stored.

    Raises
    ------
    RefusedInput
        With every problem of the file.
    """
    document = read_field_toml(path)
    return field_record(flat(document), today=today, label=toml_key, digs=digs_of(document))
