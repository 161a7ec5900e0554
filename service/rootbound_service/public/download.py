"""A large body into a file that is there whole, or as it was before."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.public.trouble import Unavailable

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


def keep_body(pieces: Iterable[bytes], headers: Mapping[str, str], path: Path, who: str) -> None:
    """Write what arrives beside a file, and put it in the file's place when it is whole.

    Parameters
    ----------
    pieces
        The body as it arrives.
    headers
        Of the answer; its length is held against what came, unless it was packed on the way.
    path
        The file.
    who
        The service and the file, for the error's sentence.

    Raises
    ------
    Unavailable
        If less or more came than was announced, or the file cannot be written.
    """
    begun: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as file:
            begun = Path(file.name)
            length = sum(file.write(piece) for piece in pieces)
        _check_length(length, headers, who)
        begun.replace(path)
    except OSError as error:
        what = f"the file could not be kept ({error.strerror})"
        raise Unavailable(who, what, retry_later=True) from error
    finally:
        if begun is not None:
            begun.unlink(missing_ok=True)


def _check_length(length: int, headers: Mapping[str, str], who: str) -> None:
    """Refuse a file that is not as long as was announced."""
    announced = headers.get("Content-Length", "")
    if not announced.isdecimal() or headers.get("Content-Encoding", "identity") != "identity":
        return
    if int(announced) != length:
        what = f"the file was cut short ({length} of {announced} bytes)"
        raise Unavailable(who, what, retry_later=True)
