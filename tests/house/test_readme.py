"""The README tells the truth: its settings, commands and example are those of the program."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from typer.main import get_command

from house.tree import ROOT
from rootbound_service.cli.app import app
from rootbound_service.cli.errors import DONE, PARTLY, REFUSED, USAGE
from rootbound_service.intake.toml_file import field_from_toml
from rootbound_service.settings import PREFIX, Settings

README = (ROOT / "README.md").read_text("utf-8")


def first_cells() -> list[str]:
    """The first cell of every row of the README's tables."""
    return re.findall(r"^\| `?([^|`]+?)`? *\|", README, re.MULTILINE)


def test_the_table_of_settings_is_that_of_the_program() -> None:
    told = [cell for cell in first_cells() if cell.startswith(PREFIX)]

    assert sorted(told) == sorted(PREFIX + name.upper() for name in Settings.model_fields)


def test_the_table_of_commands_is_that_of_the_program() -> None:
    told = [cell.split()[1] for cell in first_cells() if cell.startswith("rootbound ")]

    assert sorted(set(told)) == sorted(get_command(app).commands)


def test_the_exit_codes_are_those_of_the_program() -> None:
    told = [cell for cell in first_cells() if cell.isdigit()]

    assert told == [str(code) for code in (DONE, REFUSED, USAGE, PARTLY)]


def test_the_example_field_can_be_enrolled_as_it_stands(tmp_path: Path) -> None:
    example = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
    assert example is not None
    path = tmp_path / "meadow.toml"
    path.write_text(example[1], encoding="utf-8")

    record = field_from_toml(path, today=date(2026, 7, 1))

    assert record.name == "Meadow East"
    assert [dig.wall_class for dig in record.digs] == [2]


def test_the_files_that_the_pages_link_to_are_there() -> None:
    pages = README + (ROOT / "DEVELOPERS.md").read_text("utf-8")
    targets = [name for name in re.findall(r"\]\(([^)]+)\)", pages) if "://" not in name]

    assert targets
    assert [name for name in targets if not (ROOT / name).exists()] == []
