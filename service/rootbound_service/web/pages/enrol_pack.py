"""A file that travels on in the page, so that nothing is kept here before somebody agrees."""

from __future__ import annotations

import base64
import zlib

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.web.access.forms import Sent, Upload

MOST_BYTES = 2_000_000
"""Larger files do not travel in a page. [bytes]"""
AGAIN = "choose the file again"


def pack(data: bytes) -> str:
    """Write a file as text for a hidden input.

    Parameters
    ----------
    data
        Its content.
    """
    return base64.b64encode(zlib.compress(data)).decode()


def packed_file(form: Sent) -> Upload | None:
    """Give the file that a page carried on; None where there is none.

    Parameters
    ----------
    form
        With ``packed`` and ``file_name``.

    Raises
    ------
    RefusedInput
        If it was changed on its way, or is too large.
    """
    packed = form.get("packed")
    if not packed:
        return None
    try:
        reader = zlib.decompressobj()
        data = reader.decompress(base64.b64decode(packed, validate=True), MOST_BYTES + 1)
    except (ValueError, zlib.error):
        raise RefusedInput((Problem("File", "was changed on its way", AGAIN),)) from None
    return small_enough(Upload(form.get("file_name"), data))


def small_enough(upload: Upload) -> Upload:
    """Refuse a file that is too large to travel.

    Raises
    ------
    RefusedInput
        If it is.
    """
    if len(upload.data) > MOST_BYTES:
        what = f"is larger than {MOST_BYTES // 1_000_000} MB"
        raise RefusedInput((Problem("File", what, "split it into several files"),))
    return upload
