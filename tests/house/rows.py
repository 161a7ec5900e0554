"""What makes a table of agronomic numbers citable: the checks behind ``test_sources``."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from typing import Any

TAGS = {"verified", "second-hand", "memory", "choice"}
UNSOURCED_TAGS = {"choice", "memory"}
SOURCE_KEYS = ("title", "authors", "year", "where", "status")

CITED_IN_CODE = re.compile(r"``([a-z][a-z0-9]*(?:_[a-z0-9]+)+)``")


def is_number(cell: object) -> bool:
    return isinstance(cell, int | float) and not isinstance(cell, bool)


def holds_numbers(cell: object) -> bool:
    """Whether a cell is a number or a list with a number at any depth."""
    return is_number(cell) or (isinstance(cell, list) and any(holds_numbers(item) for item in cell))


def rows(node: dict[str, Any], where: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table in a document that holds a number of its own, with its dotted name."""
    if any(holds_numbers(cell) for cell in node.values()):
        yield where, node
    for name, child in node.items():
        if isinstance(child, dict):
            yield from rows(child, f"{where}.{name}")
        elif isinstance(child, list):
            for place, item in enumerate(child):
                if isinstance(item, dict):
                    yield from rows(item, f"{where}.{name}[{place}]")


def cited(row: dict[str, Any]) -> list[str]:
    """The source keys of a row."""
    source = row.get("source", [])
    return [source] if isinstance(source, str) else list(source)


def row_problems(where: str, row: dict[str, Any], known: set[str]) -> Iterator[str]:
    """What keeps one row from being traced to its source."""
    tag = row.get("tag")
    if tag is not None and tag not in TAGS:
        yield f"{where}: tag {tag!r} is none of {sorted(TAGS)}"
    if tag in UNSOURCED_TAGS and not str(row.get("why", "")).strip():
        yield f"{where}: tag {tag!r} needs a `why`"
    if not cited(row) and tag not in UNSOURCED_TAGS:
        yield f"{where}: no `source`, and no tag that says it is our choice or from memory"
    yield from (f"{where}: unknown source {key!r}" for key in cited(row) if key not in known)
    yield from range_problems(where, row)


def range_problems(where: str, row: dict[str, Any]) -> Iterator[str]:
    """A range is two numbers in order, with the row's value in it."""
    if "range" not in row:
        return
    limits = row["range"]
    if not (isinstance(limits, list) and [is_number(limit) for limit in limits] == [True, True]):
        yield f"{where}: range must be two numbers"
        return
    low, high = limits
    value = row.get("value", low)
    if not low <= high:
        yield f"{where}: range runs from {low} down to {high}"
    elif is_number(value) and not low <= value <= high:
        yield f"{where}: value {value} is outside its range {low} to {high}"


def table_problems(documents: dict[str, dict[str, Any]], sources: dict[str, Any]) -> list[str]:
    """Every uncited, wrongly cited or inconsistent row of the given documents."""
    known = set(sources)
    return [
        problem
        for name, document in documents.items()
        for where, row in rows(document, name)
        for problem in row_problems(where, row, known)
    ]


def source_problems(sources: dict[str, Any]) -> list[str]:
    """Every source that is not described well enough to be found."""
    return [
        f"sources.{key}: no {cell!r}"
        for key, source in sources.items()
        for cell in SOURCE_KEYS
        if not str(source.get(cell, "")).strip()
    ]


def keys_in_tables(documents: dict[str, dict[str, Any]]) -> set[str]:
    return {
        key for name, doc in documents.items() for _, row in rows(doc, name) for key in cited(row)
    }


def keys_in_code(source: str) -> set[str]:
    """Source keys that the ``References`` sections of a module's docstrings name."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            text = ast.get_docstring(node) or ""
            _, _, references = text.partition("References\n----------\n")
            section = re.split(r"\n\w[\w ]*\n-{3,}\n", references)[0]
            found.update(CITED_IN_CODE.findall(section))
    return found
