"""Give the marked equations to the compiler, once as written and once in float32.

Numba takes a literal such as ``0.5`` as float64, which would widen every float32 value it
touches and halve the speed of the members' loop. The float32 text of an equation is the
same source with each literal wrapped in ``np.float32``; which of the two texts serves is
decided by the type of the arguments, when the kernel is compiled.
"""

from __future__ import annotations

import ast
import inspect
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np
from numba.core import types
from numba.extending import overload

from rootbound_rules import numeric
from rootbound_rules.equation import EQUATIONS
from rootbound_rules.season import approximations

if TYPE_CHECKING:
    from collections.abc import Callable

OPTIONS: dict[str, Any] = {"fastmath": True, "error_model": "numpy", "forceinline": True}


class _Narrow(ast.NodeTransformer):
    """Wrap every number and every module-level number of an equation in ``np.float32``."""

    def __init__(self, scope: dict[str, Any]) -> None:
        self.scope = scope

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        if isinstance(node.op, ast.Pow) and isinstance(node.right, ast.Constant):
            node.left = self.visit(node.left)  # a whole exponent stays whole
            if isinstance(node.right.value, float):
                node.right = self.visit(node.right)
            return node
        return self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        return _float32(node) if isinstance(node.value, (int, float)) else node

    def visit_Name(self, node: ast.Name) -> ast.AST:
        value = self.scope.get(node.id)
        return _float32(node) if isinstance(value, float) else node


def _float32(node: ast.expr) -> ast.Call:
    """``np.float32(node)``."""
    name = ast.Name(id="_np_float32", ctx=ast.Load())
    return ast.copy_location(ast.Call(func=name, args=[node], keywords=[]), node)


def narrowed(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return the float32 text of an equation as a function.

    Parameters
    ----------
    function
        A marked equation.
    """
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    definition = tree.body[0]
    assert isinstance(definition, ast.FunctionDef)  # noqa: S101  (only functions are marked)
    definition.decorator_list = []
    definition.returns = None
    definition.name = f"{function.__name__}_float32"
    for argument in definition.args.args:
        argument.annotation = None
    if ast.get_docstring(definition) is not None:
        definition.body = definition.body[1:]
    scope = dict(function.__globals__)
    definition.body = [_Narrow(scope).visit(statement) for statement in definition.body]
    scope["_np_float32"] = np.float32
    ast.fix_missing_locations(tree)
    exec(compile(tree, inspect.getfile(function), "exec"), scope)  # noqa: S102  (our own source)
    made: Callable[..., Any] = scope[definition.name]
    return made


def _offer(function: Callable[..., Any]) -> None:
    """Let compiled code call one equation."""
    narrow = narrowed(function)

    def choose(*arguments: Any) -> Callable[..., Any]:
        return narrow if types.float32 in arguments else function

    choose.__signature__ = inspect.signature(function)  # type: ignore[attr-defined]
    overload(function, jit_options=OPTIONS, strict=False)(choose)  # type: ignore[arg-type]


_offered: list[Callable[..., Any]] = []


def offer_equations() -> None:
    """Let compiled code call every equation marked so far and the functions of ``numeric``."""
    if not _offered:
        approximations.offer(numeric)
    for function in EQUATIONS[len(_offered) :]:
        _offer(function)
        _offered.append(function)
