"""Write the table of our choices into rules/README.md; run it after changing a row.

``PYTHONPATH=tests .venv/bin/python tests/house/choices.py``
"""

from __future__ import annotations

from pathlib import Path

from rootbound_rules.tables import Row, load_table

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "rules" / "README.md"
BEGIN, END = "<!-- choices: begin -->", "<!-- choices: end -->"
TABLES = ("maize", "wall", "season", "ladder", "soils")


def choices_table() -> str:
    """One line a row that is our choice, or that rests on memory."""
    lines = ["| row | value | range | why |", "|---|---|---|---|"]
    for name in TABLES:
        for key, row in load_table(name).rows.items():
            if row.tag in ("choice", "memory"):
                shown = f"`{name}.{key}`{' (memory)' if row.tag == 'memory' else ''}"
                lines.append(f"| {shown} | {_value(row)} | {_range(row)} | {row.why} |")
    return "\n".join(lines)


def with_table(page: str) -> str:
    """The page with its table made anew."""
    head, rest = page.split(BEGIN)
    return f"{head}{BEGIN}\n{choices_table()}\n{END}{rest.split(END)[1]}"


def _value(row: Row) -> str:
    return f"{', '.join(f'{number:g}' for number in row.numbers)} {row.unit}"


def _range(row: Row) -> str:
    return "-" if row.low is None or row.high is None else f"{row.low:g} to {row.high:g}"


if __name__ == "__main__":
    PAGE.write_text(with_table(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
