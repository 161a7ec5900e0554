"""The locks hold all that the project asks for, each file by its hash, and no address."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, requires

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from house.tree import ROOT

PIN = re.compile(r"^(?P<name>[A-Za-z0-9._-]+)==(?P<version>[^ ;\\]+)", re.MULTILINE)
BUILD_TOOLS = ["editables"]
NOT_OF_A_SERVICE = {"demo", "test", "outlines"}
"""Extras that a service is installed without; no setting asks for the 13 MB of borders."""
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
EXTRAS = {
    "demo": ["demo"],
    "test": ["demo", "postgres", "test"],
    "service": sorted(set(PROJECT["project"]["optional-dependencies"]) - NOT_OF_A_SERVICE),
}
"""What each lock holds beside what the project always needs."""


def pins(name: str) -> dict[str, Version]:
    """The locked versions by package."""
    text = (ROOT / "deploy" / f"lock-{name}.txt").read_text("utf-8")
    return {canonicalize_name(m["name"]): Version(m["version"]) for m in PIN.finditer(text)}


def wanted(*extras: str) -> list[Requirement]:
    """What pyproject.toml asks for, with some extras and with what builds the project."""
    lines = [
        *PROJECT["build-system"]["requires"],
        *BUILD_TOOLS,
        *PROJECT["project"]["dependencies"],
    ]
    for extra in extras:
        lines += PROJECT["project"]["optional-dependencies"][extra]
    return [Requirement(line) for line in lines]


@pytest.mark.parametrize("name", EXTRAS)
def test_a_lock_holds_everything_the_project_asks_for(name: str) -> None:
    locked = pins(name)
    missing = [
        str(need)
        for need in wanted(*EXTRAS[name])
        if (version := locked.get(canonicalize_name(need.name))) is None
        or version not in need.specifier
    ]

    assert missing == [], "run deploy/lock"


@pytest.mark.parametrize("name", EXTRAS)
def test_a_lock_holds_what_is_needed_in_turn(name: str) -> None:
    """By the word of what is installed here: a lock changed by hand would not be whole."""
    locked, left, seen = pins(name), wanted(*EXTRAS[name]), set[tuple[str, str]]()
    while left:
        need = left.pop()
        package = canonicalize_name(need.name)
        for extra in ("", *need.extras):
            if (package, extra) not in seen:
                seen.add((package, extra))
                left += needs_of(package, extra)

    assert {package for package, _ in seen} - set(locked) == set(), "run deploy/lock"


def needs_of(package: str, extra: str) -> list[Requirement]:
    """What an installed package asks for on this machine."""
    try:
        asked = [Requirement(line) for line in requires(package) or []]
    except PackageNotFoundError:  # of a lock that is not the one installed
        return []
    return [one for one in asked if one.marker is None or one.marker.evaluate({"extra": extra})]


@pytest.mark.parametrize("name", ["demo", "service"])
def test_every_lock_holds_the_versions_that_were_tested(name: str) -> None:
    everything = pins("test")

    assert {name: everything.get(name) for name in pins(name)} == pins(name)


@pytest.mark.parametrize("name", EXTRAS)
def test_a_lock_names_no_address_and_no_folder(name: str) -> None:
    text = (ROOT / "deploy" / f"lock-{name}.txt").read_text("utf-8")

    assert re.findall(r"https?:|file:|index-url|find-links|(?<![a-z])/\w+/", text) == []


@pytest.mark.parametrize("name", EXTRAS)
def test_every_locked_package_has_a_hash(name: str) -> None:
    text = (ROOT / "deploy" / f"lock-{name}.txt").read_text("utf-8")
    entries = text.replace("\\\n", " ").splitlines()

    bare = [line for line in entries if PIN.match(line) and "--hash=sha256:" not in line]
    assert bare == []
