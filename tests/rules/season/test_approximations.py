"""The float32 exp, logarithm and power against float64, over the ranges the step uses."""

from __future__ import annotations

import numpy as np
import pytest
from numba import njit

import rootbound_rules.season.kernel  # noqa: F401 - offers every equation once all are there
from rootbound_rules import numeric
from rootbound_rules.season import approximations

SINGLE = np.float32
EXP2, EXP, POWER = 8e-6, 8e-6, 1e-5
"""Relative, with margin over 5.4e-6, 4.4e-6 and 6.2e-6 measured: the compiler reorders
``held - (whole - 127)``, and the rounding of ``held + 127`` (7.6e-6) is most of it."""
LOG2_NEAR, LOG2_FAR = 3e-7, 3e-7
"""Absolute within an octave of 1, relative beyond."""
_exp2 = njit(**approximations.OPTIONS)(approximations._exp2)
_log2 = njit(**approximations.OPTIONS)(approximations._log2)


def _over(function):
    """Apply a compiled scalar function to every element."""

    @njit
    def every(xs, out):
        for i in range(len(xs)):
            out[i] = function(xs[i])

    def run(xs):
        out = np.empty_like(xs)
        every(xs, out)
        return out.astype(np.float64)

    return run


@njit
def _exps(xs, out):
    for i in range(len(xs)):
        out[i] = numeric.exp(xs[i])


@njit
def _powers(base, exponents, out):
    for i in range(len(base)):
        out[i] = numeric.power(base[i], exponents[i])


def test_exp2_in_float32(record_property):
    xs = np.linspace(-60, 120, 2_000_001).astype(SINGLE)
    error = np.abs(_over(_exp2)(xs) / np.exp2(xs.astype(np.float64)) - 1).max()
    record_property("relative_error", float(error))
    assert error < EXP2, error


def test_log2_in_float32(record_property):
    xs = np.exp2(np.linspace(-20, 20, 2_000_001)).astype(SINGLE)
    exact = np.log2(xs.astype(np.float64))
    near = np.abs(exact) <= 1.0
    error = np.abs(_over(_log2)(xs) - exact)
    record_property("absolute_error_within_an_octave_of_1", float(error[near].max()))
    record_property("relative_error_beyond", float((error[~near] / np.abs(exact[~near])).max()))
    assert error[near].max() < LOG2_NEAR, error[near].max()
    assert (error[~near] / np.abs(exact[~near])).max() < LOG2_FAR


def test_exp_in_float32_over_the_resistances_and_exchange_rates_used(record_property):
    xs = np.linspace(-30, 0, 1_000_001).astype(SINGLE)
    out = np.empty_like(xs)
    _exps(xs, out)
    error = np.abs(out / np.exp(xs.astype(np.float64)) - 1).max()
    record_property("relative_error", float(error))
    assert error < EXP, error


@pytest.mark.parametrize(
    ("name", "bases", "exponents"),
    [
        ("strength of a drying wall", (0.3, 1.0), (-7.5, -0.01)),
        ("height", (0.03, 1.0), (0.3, 0.3)),
        ("cover", (0.005, 1.0), (1.0, 2.0)),
        ("capillary rise", (0.05, 1.0), (-3.7, -2.2)),
    ],
)
def test_power_in_float32(name, bases, exponents, record_property):
    rng = np.random.default_rng(3)
    base = rng.uniform(*bases, 500_000).astype(SINGLE)
    exponent = rng.uniform(*exponents, 500_000).astype(SINGLE)
    out = np.empty_like(base)
    _powers(base, exponent, out)
    exact = base.astype(np.float64) ** exponent.astype(np.float64)
    error = np.abs(out / exact - 1).max()
    record_property("relative_error", float(error))
    assert error < POWER, f"{name}: {error}"


def test_a_power_of_nothing_and_of_far_too_much_stay_numbers():
    xs = np.array([-1e30, -500, 500, 1e30], SINGLE)
    out = _over(_exp2)(xs)
    assert np.isfinite(out).all()
    assert 0.0 <= out[0] == out[1] < 1e-18  # nothing, beside any store or share
    assert out[2] == out[3] > 1e37


def test_float64_is_the_librarys_own():
    xs = np.linspace(-30, 5, 1001)
    out = np.empty_like(xs)
    _exps(xs, out)
    assert np.abs(out / np.exp(xs) - 1).max() < 1e-15
