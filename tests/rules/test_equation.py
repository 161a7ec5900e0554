"""Marked equations: unchanged by the mark, and the same text in float32."""

from __future__ import annotations

import ast
import inspect
import math

import numpy as np
import pytest
from numba import njit

import rootbound_rules.season.kernel  # noqa: F401 - marks and offers every equation
from rootbound_rules import numeric
from rootbound_rules.crop.wall import crossing_share, relative_strength
from rootbound_rules.equation import EQUATIONS, equation
from rootbound_rules.season.compiled import _Narrow, narrowed
from rootbound_rules.water.coefficients import kcb_curve
from rootbound_rules.water.rootzone import exchange_rate, stress
from rootbound_rules.water.runoff import runoff, todays_storage

SAMPLES = {
    stress: (30.0, 100.0, 0.55),
    exchange_rate: (5.8, 38.0, 0.3),
    runoff: (40.0, 60.0),
    todays_storage: (0.4, 58.0, 89.0),
    relative_strength: (0.5, 0.45, -3.5),
    crossing_share: (1.7, 1.4, 0.7, 1.26),
    kcb_curve: (900.0, 443.0, 1135.0, 2190.0, 2700.0, 0.15, 1.15, 0.5),
}
NAMED = [pytest.param(f, id=f.__name__) for f in EQUATIONS]


def test_marking_a_function_gives_the_function_itself():
    def double(x: float) -> float:
        return 2.0 * x

    try:
        assert equation(double) is double
        assert EQUATIONS[-1] is double
    finally:
        EQUATIONS.pop()


def test_no_two_equations_share_a_name():
    names = [f.__name__ for f in EQUATIONS]
    assert len(names) == len(set(names))
    assert len(names) > 40


@pytest.mark.parametrize("function", NAMED)
def test_every_equation_takes_and_gives_floats_and_says_what_it_is(function):
    hints = inspect.signature(function)
    assert all(p.annotation == "float" for p in hints.parameters.values())
    assert "float" in hints.return_annotation
    assert inspect.getdoc(function)


@pytest.mark.parametrize("function", NAMED)
def test_the_float32_text_takes_the_same_arguments(function):
    narrow = narrowed(function)
    assert list(inspect.signature(narrow).parameters) == list(
        inspect.signature(function).parameters
    )


@pytest.mark.parametrize("function", SAMPLES, ids=lambda f: f.__name__)
def test_an_equation_is_the_same_in_python_in_float64_and_nearly_so_in_float32(function):
    values = SAMPLES[function]
    wanted = function(*values)
    names = ", ".join(f"a{i}" for i in range(len(values)))
    scope = {"f": function}
    exec(f"def call({names}):\n    return f({names})", scope)  # noqa: S102 - the compiler wants names
    compiled = njit(scope["call"])
    double = compiled(*values)
    single = compiled(*(np.float32(v) for v in values))
    assert double == pytest.approx(wanted, rel=1e-14)
    assert single == pytest.approx(wanted, rel=2e-5)
    kinds = {str(s.return_type) for s in compiled.overloads.values() for s in [s.signature]}
    assert kinds == {"float64", "float32"}, "a literal widened the float32 text"


@pytest.mark.parametrize("function", NAMED)
def test_every_literal_of_the_float32_text_is_a_float32(function):
    """Only whole exponents stay as they are; one wide literal would halve the members' speed."""
    tree = ast.parse(inspect.getsource(function)).body[0]
    texts = [_Narrow(function.__globals__).visit(statement) for statement in tree.body[1:]]
    wide = [value for text in texts for value in _bare_numbers(text)]
    assert wide == []


def _bare_numbers(node):
    """Numbers, and names of them, that no ``np.float32`` stands around."""
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "_np_float32":
        return []
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow):
        whole = isinstance(node.right, ast.Constant) and isinstance(node.right.value, int)
        return _bare_numbers(node.left) + ([] if whole else _bare_numbers(node.right))
    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        return [node.value]
    return [value for child in ast.iter_child_nodes(node) for value in _bare_numbers(child)]


def test_exp_of_something_far_below_nothing_is_nothing():
    assert numeric.exp(-1e6) == 0.0
    assert numeric.exp(0.0) == 1.0


def test_power_and_clip_are_the_usual_ones():
    assert numeric.power(2.0, 0.5) == pytest.approx(math.sqrt(2.0), rel=1e-15)
    assert [numeric.clip(x, 0.0, 1.0) for x in (-1.0, 0.3, 2.0)] == [0.0, 0.3, 1.0]
