"""A seeded generator for every test that makes things up; builders are in ``season/plausible``."""

from __future__ import annotations

import numpy as np
import pytest


@pytest.fixture
def rng() -> np.random.Generator:
    """The same chance on every run."""
    return np.random.default_rng(20210501)


@pytest.fixture
def record_property(record_property):
    """As pytest's own, but a numpy number becomes a plain one: tests run on several processes."""

    def record(name, value):
        record_property(name, value.item() if hasattr(value, "item") else value)

    return record
