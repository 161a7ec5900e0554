"""What a zip holds, unpacked in memory within limits; no member's path is ever used."""

from __future__ import annotations

import io
import zipfile
import zlib

from rootbound_service.intake.shapes.limits import (
    MB,
    MEMBERS,
    RATIO,
    RATIO_FROM_BYTES,
    UNPACKED_BYTES,
)
from rootbound_service.intake.shapes.refuse import Flaw

MAGIC = b"PK\x03\x04"
ENCRYPTED = 0x1
AGAIN = "pack the files again as a plain zip"
METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


def members_of(data: bytes, wanted: tuple[str, ...]) -> dict[str, bytes]:
    """Unpack the members that a kind of file needs.

    Parameters
    ----------
    data
        The zip.
    wanted
        Endings of the members to unpack, in lower case; others are counted and left.

    Returns
    -------
    dict[str, bytes]
        By the member's name, in the order of the zip.

    Raises
    ------
    Flaw
        If it is broken, locked, nested, or would unpack to too much.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return _unpacked(packed, wanted)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        OSError,
        RuntimeError,
        UnicodeDecodeError,
        OverflowError,
        ValueError,
    ) as error:
        if isinstance(error, Flaw):
            raise
        raise Flaw("is a broken zip", AGAIN) from None


def _unpacked(packed: zipfile.ZipFile, wanted: tuple[str, ...]) -> dict[str, bytes]:
    infos = packed.infolist()
    if len(infos) > MEMBERS:
        raise Flaw(f"holds {len(infos)} files", f"pack at most {MEMBERS}")
    for info in infos:
        _check(info)
    left = UNPACKED_BYTES
    found: dict[str, bytes] = {}
    for info in infos:
        name = info.filename.lower()
        if not name.endswith(wanted) or _is_shadow(name) or name in found:
            continue
        with packed.open(info) as member:
            body = member.read(left + 1)
        left -= len(body)
        if left < 0:
            raise Flaw("unpacks to too much", f"send at most {UNPACKED_BYTES // MB} MB unpacked")
        if body.startswith(MAGIC):
            raise Flaw("holds a zip within the zip", AGAIN)
        found[name] = body
    return found


def _is_shadow(name: str) -> bool:
    """A file beside the real one, into which a Mac writes icons and tags."""
    return "__macosx" in name or name.rpartition("/")[2].startswith("._")


def _check(info: zipfile.ZipInfo) -> None:
    if info.flag_bits & ENCRYPTED:
        raise Flaw("is locked with a password", "pack the files without one")
    if info.compress_type not in METHODS:
        raise Flaw("is packed in an unusual way", AGAIN)
    if info.filename.lower().endswith((".zip", ".kmz")):
        raise Flaw("holds a zip within the zip", AGAIN)
    if info.file_size > UNPACKED_BYTES or (
        info.file_size > RATIO_FROM_BYTES and info.file_size > RATIO * info.compress_size
    ):
        raise Flaw("unpacks to too much", f"send at most {UNPACKED_BYTES // MB} MB unpacked")
