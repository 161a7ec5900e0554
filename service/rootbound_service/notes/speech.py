"""Whoever reads is spoken to in their language: each is a folder of this one, English the first.

``say`` gives the words of the language spoken at the moment. A further language is a folder with
the same names in it; ``languages`` lists those that are there.
"""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager
from contextvars import ContextVar
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

__all__ = ["languages", "say", "speaking", "spoken", "words_of"]

ENGLISH = "en"
_spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)

if TYPE_CHECKING:
    from rootbound_service.notes import en as say
else:

    class _Say:
        """Looks a word up in the folder of the language spoken now."""

        def __getattr__(self, name: str) -> Any:
            return getattr(words_of(_spoken.get()), name)

    say = _Say()


@contextmanager
def speaking(language: str) -> Generator[None]:
    """Speak a language for a while; one that is not there is spoken as English.

    Parameters
    ----------
    language
        Name of its folder.
    """
    known = language if language in languages() else ENGLISH
    before = _spoken.set(known)
    try:
        yield
    finally:
        _spoken.reset(before)


def spoken() -> str:
    """The language spoken now."""
    return _spoken.get()


def words_of(language: str) -> Any:
    """Return the words of a language.

    Parameters
    ----------
    language
        Name of its folder.
    """
    return import_module(f"rootbound_service.notes.{language}")


def languages() -> tuple[str, ...]:
    """Return the names of the languages that are there."""
    from rootbound_service import notes

    found = (one.parent.name for place in notes.__path__ for one in Path(place).glob("*/templates"))
    return tuple(sorted(set(found)))
