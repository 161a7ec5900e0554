"""Reading a file a person names: what cannot be read is said in a sentence."""

from __future__ import annotations

from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput

MOST_BYTES = 50_000_000
"""Far above any list of fields; a film picked by mistake is refused before it is read. [bytes]"""


def read_text_file(path: Path) -> str:
    """Read a whole text file, with or without a byte order mark.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    RefusedInput
        If it is not there, not readable, far too large or not UTF-8.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _refused(path, "is larger than 50 MB", "give a text file of fields")
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise _refused(path, "is not there", "give the name of a file") from None
    except UnicodeDecodeError as error:
        what = f"is not UTF-8 text (byte {error.start})"
        raise _refused(path, what, "save it as UTF-8, in a spreadsheet as 'CSV UTF-8'") from None
    except OSError as error:
        what = f"cannot be read: {error.strerror or error}"
        raise _refused(path, what, "give a file you may read") from None


def _refused(path: Path, what: str, wanted: str) -> RefusedInput:
    return RefusedInput((Problem(path.name or str(path), what, wanted),))
