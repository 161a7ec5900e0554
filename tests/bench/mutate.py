"""Change one number or operator of an equation at a time and see whether the tests notice.

``PYTHONPATH=tests/bench .venv/bin/python tests/bench/mutate.py --count 120``. Each mutant runs in
a fork of a process that has the libraries loaded; equations are marked by a decorator, which the
usual tool leaves alone, hence this short one. Prints the score and every survivor.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np  # noqa: F401  loaded before the fork
import pandas as pd  # noqa: F401  the same
import pytest
import scipy.special  # noqa: F401  the same

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "rules" / "rootbound_rules"
MUTATED = ("crop", "water", "season/surface.py", "season/step.py", "season/crop_day.py")
TESTS = (
    "tests/rules/crop",
    "tests/rules/water",
    "tests/outside/test_fao56.py",
    "tests/outside/test_fao56_days.py",
    "tests/outside/test_compaction.py",
    "tests/outside/test_maize.py",
    "tests/outside/test_curve_numbers.py",
    "tests/outside/test_soil_water.py",
    "tests/outside/test_station_year.py",
    "tests/rules/season/test_conservation.py",
    "tests/rules/season/test_twins.py",
    "tests/rules/season/test_bounds.py",
    "tests/rules/season/test_exchange.py",
)
QUIET = ("-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")
SWAPS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
TURNS = {ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt}


def main() -> None:
    """Run a seeded sample of all mutants."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    everything = [(path, n) for path in _files() for n in range(_places(path))]
    chosen = random.Random(asked.seed).sample(everything, min(asked.count, len(everything)))
    first = _files()[0]
    if caught(first, first.read_text("utf-8")):
        raise SystemExit("the tests fail without any change: mend them first")
    survivors = []
    for done, (path, n) in enumerate(chosen, 1):
        text, told = mutant(path, n)
        if not caught(path, text):
            survivors.append(told)
        print(f"\r{done}/{len(chosen)}, {len(survivors)} survived", end="", flush=True)
    print(f"\n{len(chosen) - len(survivors)} of {len(chosen)} caught ({len(everything)} possible)")
    print("\n".join(survivors))


def _files() -> list[Path]:
    """Every file whose equations are changed."""
    found: list[Path] = []
    for name in MUTATED:
        place = PACKAGE / name
        found += sorted(place.glob("*.py")) if place.is_dir() else [place]
    return [path for path in found if path.name != "__init__.py"]


def _candidates(tree: ast.Module) -> Iterator[ast.AST]:
    """Numbers, operators and comparisons inside functions."""
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for node in ast.walk(function):
                number = isinstance(node, ast.Constant) and type(node.value) in (int, float)
                operator = isinstance(node, ast.BinOp) and type(node.op) in SWAPS
                turned = isinstance(node, ast.Compare) and type(node.ops[0]) in TURNS
                limit = isinstance(node, ast.Name) and node.id in ("min", "max")
                if number or operator or turned or limit:
                    yield node


def _places(path: Path) -> int:
    return sum(1 for _ in _candidates(ast.parse(path.read_text("utf-8"))))


def mutant(path: Path, n: int) -> tuple[str, str]:
    """The file's text with its n-th candidate changed, and what was changed."""
    tree = ast.parse(path.read_text("utf-8"))
    node = list(_candidates(tree))[n]
    before = ast.unparse(node)
    if isinstance(node, ast.Constant):
        node.value = node.value + 1 if isinstance(node.value, int) else node.value * 1.1 + 0.01
    elif isinstance(node, ast.BinOp):
        node.op = SWAPS[type(node.op)]()
    elif isinstance(node, ast.Compare):
        node.ops[0] = TURNS[type(node.ops[0])]()
    elif isinstance(node, ast.Name):
        node.id = "max" if node.id == "min" else "min"
    where = f"{path.relative_to(PACKAGE)}:{node.lineno}"
    return ast.unparse(tree), f"{where}: {before} -> {ast.unparse(node)}"


def caught(path: Path, text: str) -> bool:
    """Whether a test fails with the mutated file in place, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "rootbound_rules"
        shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
        (copy / path.relative_to(PACKAGE)).write_text(text, encoding="utf-8")
        child = os.fork()
        if child == 0:
            silent = os.open(os.devnull, os.O_WRONLY)
            os.dup2(silent, 1)
            os.dup2(silent, 2)
            sys.path.insert(0, folder)
            os.chdir(ROOT)
            code = pytest.main(["-x", "-q", *QUIET, *TESTS])
            os._exit(0 if code == 0 else 1)
        _, status = os.waitpid(child, 0)
        return os.waitstatus_to_exitcode(status) != 0


if __name__ == "__main__":
    main()
