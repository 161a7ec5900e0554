"""Answers in the services' shapes, and callers that reach nobody else and never wait."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from rootbound_service.public.http import Caller, Patience

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"


def shape(name: str) -> Any:
    """One recorded answer."""
    return json.loads((SHAPES / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture
def recorded():
    return shape


@pytest.fixture
def caller() -> Iterator[Caller]:
    made = Caller(Patience(timeout_s=5, retries=0), sleep=lambda _: None)
    yield made
    made.close()
