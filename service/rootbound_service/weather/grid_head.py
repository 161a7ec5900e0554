"""Which piece holds what, at one moment: a small head that names indexes, which name pieces.

A key is one that Zarr asks for, or a file of the log. A piece never changes: its name is the
key, the version that first had it and a mark of its content. Indexes are split by the chunk of
days, so that a night, which changes the newest days, writes a small one.
"""

from __future__ import annotations

import gzip
import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from rootbound_service.errors import ServiceError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

HEAD = "head.json"
FORM = 1
FACTS = "facts"
LOG = "log/"
PARTS_OF_A_CHUNK = 5
"""array / c / quantity / cell / day"""
Index = dict[str, str]
"""Names of pieces by key."""


@dataclass(frozen=True, slots=True)
class Head:
    """The one object that says which version counts."""

    version: int = 0
    indexes: Mapping[str, str] = field(default_factory=dict[str, str])
    """Name of each index object by what it is the index of."""
    tag: str | None = None
    """ETag with which it was read; None before there is any."""


def index_of(key: str) -> str:
    """Tell in which index a key stands.

    Parameters
    ----------
    key
        Of an array, one of its chunks, or a file of the log.
    """
    if key.startswith(LOG):
        return f"log-{key.rpartition('-')[2][:6]}"  # the month in which it was seen
    steps = key.split("/")
    return f"days-{steps[-1]}" if len(steps) == PARTS_OF_A_CHUNK else FACTS


def piece_name(key: str, version: int, content: bytes) -> str:
    """Name a piece.

    Parameters
    ----------
    key
        What it holds.
    version
        The first that has it.
    content
        All of it.
    """
    return f"piece/{key}/{_mark(version, content)}"


def index_name(index: str, version: int, content: bytes) -> str:
    """Name an index object.

    Parameters
    ----------
    index, version, content
        As for :func:`piece_name`.
    """
    return f"index/{index}/{_mark(version, content)}"


def version_in(name: str) -> int:
    """Give the version in the name of a piece or an index.

    Parameters
    ----------
    name
        As made here.
    """
    return int(name.rpartition("/")[2].partition("-")[0])


def pack_head(version: int, indexes: Mapping[str, str]) -> bytes:
    """Write a head.

    Parameters
    ----------
    version
        Its number.
    indexes
        The names of its index objects.
    """
    told = {"form": FORM, "version": version, "indexes": dict(sorted(indexes.items()))}
    return json.dumps(told, separators=(",", ":")).encode()


def unpack_head(content: bytes, tag: str, url: str) -> Head:
    """Read a head.

    Parameters
    ----------
    content, tag
        As it was read.
    url
        Where it lies, for the refusal.

    Raises
    ------
    ServiceError
        If it is spoilt, or of a form that this program does not know.
    """
    try:
        told = json.loads(content)
        form, head = told["form"], Head(int(told["version"]), dict(told["indexes"]), tag)
    except (ValueError, KeyError, TypeError) as error:
        what = f"cannot be read ({type(error).__name__})"
        raise ServiceError(f"{url}/{HEAD}: {what}; put an earlier one of it back") from error
    if form != FORM:
        what = f"is of form {form}, and this program knows form {FORM}"
        raise ServiceError(f"{url}/{HEAD}: {what}; use the newer program")
    return head


def pack_index(index: Mapping[str, str]) -> bytes:
    """Write names by key: a piece's name begins with its key, so only the rest is kept.

    Parameters
    ----------
    index
        Names of pieces by key.
    """
    short = {key: name.rpartition("/")[2] for key, name in sorted(index.items())}
    return gzip.compress(json.dumps(short, separators=(",", ":")).encode(), mtime=0)


def unpack_index(content: bytes) -> Index:
    """Read names by key.

    Parameters
    ----------
    content
        As packed.
    """
    short: dict[str, str] = json.loads(gzip.decompress(content))
    return {key: f"piece/{key}/{end}" for key, end in short.items()}


def by_index(keys: Iterable[str]) -> dict[str, list[str]]:
    """Sort keys by the index in which they stand.

    Parameters
    ----------
    keys
        Any.
    """
    found: defaultdict[str, list[str]] = defaultdict(list)
    for key in keys:
        found[index_of(key)].append(key)
    return dict(found)


def _mark(version: int, content: bytes) -> str:
    return f"{version:08d}-{hashlib.blake2b(content, digest_size=8).hexdigest()}"
