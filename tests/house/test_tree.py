"""The tree stays small and readable: names at the top, sizes, heads of files."""

from __future__ import annotations

import ast
from pathlib import Path

from house.tree import ROOT, project_files, python_files

TOP_LEVEL = {
    "DEVELOPERS.md",
    "README.md",
    "deploy",
    "fixtures",
    "pyproject.toml",
    "rules",
    "service",
    "tests",
}
LONGEST_FILE = 300
LONGEST_FUNCTION = 60


def lines_of_code(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines from ``def`` to the end, without the docstring."""
    total = (function.end_lineno or function.lineno) - function.lineno + 1
    if ast.get_docstring(function) is None:
        return total
    docstring = function.body[0]
    return total - ((docstring.end_lineno or docstring.lineno) - docstring.lineno + 1)


def long_functions(source: str, limit: int) -> list[str]:
    """Names of the functions in ``source`` that have more than ``limit`` lines of code."""
    return [
        node.name
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and lines_of_code(node) > limit
    ]


def first_line(path: Path) -> str:
    return (ROOT / path).read_text(encoding="utf-8").partition("\n")[0]


def test_the_top_level_holds_the_agreed_names_and_dotfiles_only() -> None:
    names = {path.parts[0] for path in project_files()}

    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def test_no_python_file_is_longer_than_a_reader_wants() -> None:
    sizes = {path: len((ROOT / path).read_text("utf-8").splitlines()) for path in python_files()}

    assert sizes
    assert {path: size for path, size in sizes.items() if size > LONGEST_FILE} == {}


def test_every_function_can_be_seen_whole() -> None:
    too_long = {
        str(path): names
        for path in python_files()
        if (names := long_functions((ROOT / path).read_text("utf-8"), LONGEST_FUNCTION))
    }

    assert too_long == {}


def test_a_docstring_does_not_count_as_code_of_its_function() -> None:
    source = 'def talks():\n    """One.\n\n    Two.\n    """\n    return 1\n'

    assert long_functions(source, 2) == []
    assert long_functions(source, 1) == ["talks"]


def test_every_test_file_says_what_it_is_about() -> None:
    silent = [
        str(path)
        for path in python_files("tests")
        if not ast.get_docstring(ast.parse((ROOT / path).read_text("utf-8")))
    ]

    assert silent == []


def test_no_test_sleeps() -> None:
    call = "time." + "sleep("
    sleepers = [
        str(path) for path in python_files("tests") if call in (ROOT / path).read_text("utf-8")
    ]

    assert sleepers == []


def test_every_table_says_in_its_first_line_what_it_is() -> None:
    tables = [
        path
        for path in project_files()
        if path.suffix == ".toml" and path.parts[0] in {"fixtures", "rules"}
    ]

    assert tables
    assert [str(path) for path in tables if not first_line(path).startswith("# ")] == []


def test_the_fixtures_readme_lists_every_folder() -> None:
    told = (ROOT / "fixtures" / "README.md").read_text("utf-8")
    folders = {
        path.parts[1] for path in project_files() if path.parts[0] == "fixtures" and path.parts[2:]
    }

    assert folders
    assert sorted(folder for folder in folders if f"{folder}/" not in told) == []


def test_what_deploy_offers_can_be_run() -> None:
    commands = [
        path
        for path in project_files()
        if path.parts[0] in {"deploy", ".ci"} and first_line(path).startswith("#!")
    ]

    assert commands
    assert [str(path) for path in commands if not (ROOT / path).stat().st_mode & 0o100] == []
