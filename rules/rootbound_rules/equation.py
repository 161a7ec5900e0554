"""One equation, one plain function; the same text serves Python and the compiled kernel.

Marking a function with :func:`equation` changes nothing about it. When the kernel is
built, ``season.compiled`` reads the source of every marked function and offers it to the
compiler twice: as written for float64, and with its literals in float32 for the members.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

Function = TypeVar("Function", bound="Callable[..., float | tuple[float, ...]]")

EQUATIONS: list[Callable[..., float | tuple[float, ...]]] = []
"""Every marked function, in the order of definition."""


def equation(function: Function) -> Function:
    """Mark a scalar function of floats as one that the kernel compiles as well."""
    EQUATIONS.append(function)
    return function
