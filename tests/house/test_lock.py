"""The locks hold all that the project asks for, each file by its hash, and no address."""

from __future__ import annotations

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from house.tree import ROOT

PIN = re.compile(r"^(?P<name>[A-Za-z0-9._-]+)==(?P<version>[^ ;\\]+)", re.MULTILINE)
BUILD_TOOLS = ["editables"]


def pins(name: str) -> dict[str, Version]:
    """The locked versions by package."""
    text = (ROOT / "deploy" / f"lock-{name}.txt").read_text("utf-8")
    return {canonicalize_name(m["name"]): Version(m["version"]) for m in PIN.finditer(text)}


def wanted(*extras: str) -> list[Requirement]:
    """What pyproject.toml asks for, with some extras and with what builds the project."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    lines = [
        *project["build-system"]["requires"],
        *BUILD_TOOLS,
        *project["project"]["dependencies"],
    ]
    for extra in extras:
        lines += project["project"]["optional-dependencies"][extra]
    return [Requirement(line) for line in lines]


@pytest.mark.parametrize(
    ("name", "extras"), [("demo", ["demo"]), ("test", ["demo", "postgres", "test"])]
)
def test_a_lock_holds_everything_the_project_asks_for(name: str, extras: list[str]) -> None:
    locked = pins(name)
    missing = [
        str(need)
        for need in wanted(*extras)
        if (version := locked.get(canonicalize_name(need.name))) is None
        or version not in need.specifier
    ]

    assert missing == [], "run deploy/lock"


def test_demo_and_test_lock_the_same_versions() -> None:
    everything = pins("test")

    assert {name: everything.get(name) for name in pins("demo")} == pins("demo")


@pytest.mark.parametrize("name", ["demo", "test"])
def test_a_lock_names_no_address_and_no_folder(name: str) -> None:
    text = (ROOT / "deploy" / f"lock-{name}.txt").read_text("utf-8")

    assert re.findall(r"https?:|file:|index-url|find-links|(?<![a-z])/\w+/", text) == []


@pytest.mark.parametrize("name", ["demo", "test"])
def test_every_locked_package_has_a_hash(name: str) -> None:
    text = (ROOT / "deploy" / f"lock-{name}.txt").read_text("utf-8")
    entries = text.replace("\\\n", " ").splitlines()

    bare = [line for line in entries if PIN.match(line) and "--hash=sha256:" not in line]
    assert bare == []
