"""Letters of a night with very many notes, worded and drawn in pieces by the same workers."""

from __future__ import annotations

import pickle
import time
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import numpy as np

from rootbound_service.nights.letters import Heard, Letters, word
from rootbound_service.nights.many.job import LETTERS
from rootbound_service.sweep.run import parts_of, sweep

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from numpy.typing import NDArray

    from rootbound_service.sweep.executors import Executor
    from rootbound_service.telling.book import Book

READERS = 40
"""People of one piece."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What one piece is worded from."""

    heard: list[Heard]
    unanswered: frozenset[int]
    now: datetime
    book: Book
    linked: bool


@dataclass(frozen=True, slots=True)
class LettersJob:
    """Pieces of a night's letters; see :class:`rootbound_service.sweep.job.Job`."""

    folder: Path
    count: int
    fingerprint: str

    def compute(self, number: int) -> dict[str, NDArray[Any]]:
        """Word one piece.

        Parameters
        ----------
        number
            Of the piece, from 0.
        """
        packed = (self.folder / f"{number:06d}.piece").read_bytes()
        piece: Piece = pickle.loads(packed)  # noqa: S301  written by our own coordinator
        given = (piece.heard, (), piece.unanswered, piece.now, piece.book)
        letters = word(*given, linked=piece.linked)
        return {"letters": np.frombuffer(pickle.dumps(letters, protocol=5), np.uint8)}


def word_many(
    executor: Executor,
    folder: Path,
    heard: Sequence[Heard],
    unanswered: Collection[int],
    now: datetime,
    book: Book,
    *,
    linked: bool,
) -> Callable[[], Iterator[Letters]]:
    """Word what there is to hear, piece by piece.

    Parameters
    ----------
    executor
        Who words and draws.
    folder
        Of the night's sweep.
    heard, unanswered, now, book, linked
        As for :func:`rootbound_service.nights.letters.word`.

    Returns
    -------
    callable
        Gives the letters of each piece, as often as it is called; a piece is in memory at a
        time.
    """
    own = folder / LETTERS
    own.mkdir(mode=0o700, exist_ok=True)
    count = 0
    of_person: defaultdict[int, list[int]] = defaultdict(list)
    for place, one in enumerate(heard):
        for person in one.people:
            of_person[person.id].append(place)
    for count, people in enumerate(_readers(of_person, book), 1):
        places = sorted({place for who in people for place in of_person.get(who, ())})
        mine = [heard[place] for place in places]
        piece = _piece(set(people), mine, unanswered, now, book, linked=linked)
        (own / f"{count - 1:06d}.piece").write_bytes(pickle.dumps(piece, protocol=5))
    job = LettersJob(own, count, uuid4().hex)
    sweep(job, own, executor, time.monotonic)

    def read() -> Iterator[Letters]:
        for part in parts_of(job, own):
            letters: Letters = pickle.loads(part["letters"].tobytes())  # noqa: S301  our own
            yield letters

    return read


def _readers(told: Collection[int], book: Book) -> Iterator[list[int]]:
    """People to whom a letter may go or be taken back, some at a time."""
    again = {who for who, ways in book.contacts.items() if any(w.id in book.earlier for w in ways)}
    every = sorted((set(told) | again) & book.contacts.keys())
    for begin in range(0, len(every), READERS):
        yield every[begin : begin + READERS]


def _piece(
    people: set[int],
    heard: list[Heard],
    unanswered: Collection[int],
    now: datetime,
    book: Book,
    *,
    linked: bool,
) -> Piece:
    """Everything that concerns some people, and nothing else."""
    contacts = {who: ways for who, ways in book.contacts.items() if who in people}
    numbers = {way.id for ways in contacts.values() for way in ways}
    earlier = {one: had for one, had in book.earlier.items() if one in numbers}
    waiting = {season for one in earlier.values() for season in one.waiting.values()}
    own = replace(
        book,
        contacts=contacts,
        stopped={one: book.stopped[one] for one in numbers & book.stopped.keys()},
        agreed=book.agreed & numbers,
        silent={one: book.silent[one] for one in people & book.silent.keys()},
        texts={one: book.texts[one] for one in numbers & book.texts.keys()},
        earlier=earlier,
    )
    return Piece(heard, frozenset(waiting.intersection(unanswered)), now, own, linked)
