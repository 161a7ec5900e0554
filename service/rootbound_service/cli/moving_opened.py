"""The two databases of a move, opened under the names by which they were given."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Generator

    from sqlalchemy import Engine


def url_wanted(to: str | None, to_file: Path | None) -> str:
    """Give the URL of the other database, however it was named."""
    from rootbound_service.errors import Problem, RefusedInput

    if (to is None) == (to_file is None):
        what = "no database is named" if to is None else "two databases are named"
        raise RefusedInput((Problem("--to", what, "give --to URL or --to-file FILE"),))
    if to is not None:
        return to
    try:
        return to_file.read_text("utf-8").strip() if to_file else ""
    except (OSError, UnicodeDecodeError):
        wanted = "give a file of one line with the URL"
        raise RefusedInput((Problem("--to-file", "cannot be read", wanted),)) from None


@contextmanager
def opened(url: str, where: str, *, may_be_made: bool = False) -> Generator[Engine]:
    """Open a database under the name by which it was given; close it afterwards."""
    from sqlalchemy.exc import OperationalError

    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.store.engine import make_engine

    if not may_be_made:
        _must_be_there(url, where)
    try:
        engine = make_engine(url)
    except RefusedInput as error:
        problems = (Problem(where, one.what, one.wanted) for one in error.problems)
        raise RefusedInput(tuple(problems)) from None
    try:
        try:
            engine.connect().close()
        except OperationalError as error:
            said = str(error.orig).splitlines()[0]
            problem = Problem(where, f"does not answer: {said}", "start it, or correct the URL")
            raise RefusedInput((problem,)) from None
        yield engine
    finally:
        engine.dispose()


def _must_be_there(url: str, where: str) -> None:
    """Refuse a file that is not there: to open it would make an empty one."""
    from sqlalchemy import make_url
    from sqlalchemy.exc import ArgumentError

    from rootbound_service.errors import Problem, RefusedInput

    try:
        named = make_url(url)
    except ArgumentError:
        return  # make_engine says what is wrong with it
    file = named.database
    if named.get_backend_name() == "sqlite" and file and not Path(file).exists():
        wanted = "name a database that is there"
        raise RefusedInput((Problem(where, f"there is no file {file}", wanted),))


def must_be_two(old: Engine, new: Engine) -> None:
    """Refuse to move a database onto itself."""
    from rootbound_service.errors import Problem, RefusedInput

    files = [
        Path(one.url.database or "").resolve() if one.dialect.name == "sqlite" else one.url
        for one in (old, new)
    ]
    if files[0] == files[1]:
        what = "it is the database that is to be moved"
        raise RefusedInput((Problem("--to", what, "name another, empty one"),))
