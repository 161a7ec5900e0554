"""Borders behind the map come from an optional package; without it there are none."""

from __future__ import annotations

import sys
from types import ModuleType

import pytest
from shapely.geometry import box

from rootbound_service.web.draw import outlines


@pytest.fixture
def counties(monkeypatch):
    """A package with two counties side by side and a state."""
    outlines._edges.cache_clear()
    package = ModuleType(outlines.PACKAGE)
    package.__spec__ = object()
    package.__path__ = []
    monkeypatch.setitem(sys.modules, outlines.PACKAGE, package)
    for name, shapes in (
        ("us_counties", [box(-94, 42, -93, 43), box(-93, 42, -92, 43)]),
        ("us_states", [box(-96, 40, -90, 44)]),
    ):
        part = ModuleType(f"{outlines.PACKAGE}.{name}")
        part.records = lambda shapes=shapes: [{"geometry": shape} for shape in shapes]
        monkeypatch.setitem(sys.modules, f"{outlines.PACKAGE}.{name}", part)
    yield
    outlines._edges.cache_clear()


def test_without_the_package_there_are_no_borders(monkeypatch):
    monkeypatch.setattr(outlines, "PACKAGE", "no_such_package_of_borders")
    assert outlines.outlines_of(-94.0, 42.0, -93.0, 43.0) == []


@pytest.mark.usefixtures("counties")
def test_a_border_is_cut_to_the_map():
    lines = outlines.outlines_of(-93.5, 42.2, -92.5, 42.8)
    assert lines
    every = [at for line in lines for at in line]
    assert {lon for lon, _ in every} == {-93.0}
    assert all(42.2 <= lat <= 42.8 for _, lat in every)


@pytest.mark.usefixtures("counties")
def test_a_wide_map_shows_states_in_place_of_counties():
    lines = outlines.outlines_of(-97.0, 39.0, -89.0, 45.0)
    assert {lon for line in lines for lon, _ in line} == {-96.0, -90.0}


@pytest.mark.usefixtures("counties")
def test_elsewhere_there_are_no_borders():
    assert outlines.outlines_of(10.0, 50.0, 11.0, 51.0) == []
