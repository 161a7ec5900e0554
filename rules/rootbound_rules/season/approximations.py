"""exp and power in float32 for the members' loop, and their exact selves in float64.

The polynomials are Taylor-type minimax fits on one octave. Largest relative error, as
``tests/rules/season/test_approximations.py`` measures it: exp2 6e-6, power 7e-6; log2 6e-8.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic, overload

F = np.float32
LOG2_E = F(1.4426950408889634)
OPTIONS = {"fastmath": True, "error_model": "numpy", "forceinline": True}


@intrinsic
def _bits_of(context: Any, value: Any) -> Any:
    """The bits of a float32 as int32."""
    if value != types.float32:
        return None

    def build(_: Any, builder: Any, __: Any, arguments: Any) -> Any:
        return builder.bitcast(arguments[0], ir.IntType(32))

    return types.int32(types.float32), build


@intrinsic
def _float_of(context: Any, bits: Any) -> Any:
    """The float32 that has these bits."""
    if bits != types.int32:
        return None

    def build(_: Any, builder: Any, __: Any, arguments: Any) -> Any:
        return builder.bitcast(arguments[0], ir.FloatType())

    return types.float32(types.int32), build


@intrinsic
def _whole(context: Any, value: Any) -> Any:
    """The int32 towards which a float32 is cut."""
    if value != types.float32:
        return None

    def build(_: Any, builder: Any, __: Any, arguments: Any) -> Any:
        return builder.fptosi(arguments[0], ir.IntType(32))

    return types.int32(types.float32), build


@intrinsic
def _power_of_two(context: Any, biased: Any) -> Any:
    """Two to the power of ``biased - 127``, for a whole number in 1..254."""
    if biased != types.int32:
        return None

    def build(_: Any, builder: Any, __: Any, arguments: Any) -> Any:
        bits = builder.shl(arguments[0], ir.Constant(ir.IntType(32), 23))
        return builder.bitcast(bits, ir.FloatType())

    return types.float32(types.int32), build


@intrinsic
def _split(context: Any, bits: Any) -> Any:
    """Exponent, and bits of the mantissa between the roots of a half and of two."""
    if bits != types.int32:
        return None

    def build(ctx: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        word = ir.IntType(32)
        from_root_half = builder.sub(arguments[0], ir.Constant(word, 0x3F3504F3))
        exponent = builder.ashr(from_root_half, ir.Constant(word, 23))
        mantissa = builder.sub(arguments[0], builder.shl(exponent, ir.Constant(word, 23)))
        return ctx.make_tuple(builder, signature.return_type, [exponent, mantissa])

    return types.UniTuple(types.int32, 2)(types.int32), build


@intrinsic
def _single(context: Any, whole: Any) -> Any:
    """A float32 from an int32."""
    if whole != types.int32:
        return None

    def build(_: Any, builder: Any, __: Any, arguments: Any) -> Any:
        return builder.sitofp(arguments[0], ir.FloatType())

    return types.float32(types.int32), build


def _exp2(x: Any) -> Any:
    """Two to the power of a float32 between -64 and 126; smaller powers count as -64."""
    held = min(max(x, F(-64.0)), F(126.0))  # below that, nothing: and no denormal numbers
    whole = _whole(held + F(127.5))  # floor(held + 0.5) + 127, always positive
    rest = held - (_single(whole) - F(127.0))
    poly = F(1.5252733804059840e-5)
    poly = poly * rest + F(1.5403530393381606e-4)
    poly = poly * rest + F(1.3333558146428443e-3)
    poly = poly * rest + F(9.6181291076284772e-3)
    poly = poly * rest + F(5.5504108664821580e-2)
    poly = poly * rest + F(2.4022650695910071e-1)
    poly = poly * rest + F(6.9314718055994531e-1)
    poly = poly * rest + F(1.0)
    return poly * _power_of_two(whole)


def _log2(x: Any) -> Any:
    """Logarithm to base two of a float32 above 0, without a division."""
    exponent, mantissa_bits = _split(_bits_of(x))
    m = _float_of(mantissa_bits) - F(1.0)  # within -0.293 and 0.414
    poly = F(7.0376836292e-2)
    poly = poly * m + F(-1.1514610310e-1)
    poly = poly * m + F(1.1676998740e-1)
    poly = poly * m + F(-1.2420140846e-1)
    poly = poly * m + F(1.4249322787e-1)
    poly = poly * m + F(-1.6668057665e-1)
    poly = poly * m + F(2.0000714765e-1)
    poly = poly * m + F(-2.4999993993e-1)
    poly = poly * m + F(3.3333331174e-1)
    square = m * m
    return _single(exponent) + (m + square * (m * poly - F(0.5))) * LOG2_E


def offer(numeric: Any) -> None:
    """Let compiled code call ``exp``, ``power``, ``root`` and ``clip`` of ``numeric``."""
    from numba import njit

    exp2 = njit(**OPTIONS)(_exp2)
    log2 = njit(**OPTIONS)(_log2)

    @overload(numeric.exp, jit_options=OPTIONS, strict=False)
    def choose_exp(x: Any) -> Any:
        if x == types.float32:
            return lambda x: exp2(x * LOG2_E)
        return lambda x: math.exp(x)  # noqa: PLW0108  (a lambda has source to compile)

    @overload(numeric.power, jit_options=OPTIONS, strict=False)
    def choose_power(base: Any, exponent: Any) -> Any:
        if base == types.float32:
            return lambda base, exponent: exp2(exponent * log2(base))
        return lambda base, exponent: math.exp(exponent * math.log(base))

    @overload(numeric.root, jit_options=OPTIONS, strict=False)
    def choose_root(x: Any) -> Any:
        return lambda x: np.sqrt(x)  # noqa: PLW0108  (a lambda has source to compile)

    @overload(numeric.clip, jit_options=OPTIONS, strict=False)
    def choose_clip(x: Any, low: Any, high: Any) -> Any:
        return lambda x, low, high: min(max(x, low), high)
