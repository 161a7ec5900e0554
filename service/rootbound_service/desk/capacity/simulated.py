"""Nights played event by event: pulls, chunks, rows, letters, senders; by numbers and a seed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.desk.capacity.limits import mail_per_s
from rootbound_service.desk.capacity.night import Sized, sized, told
from rootbound_service.desk.capacity.played import Chance, Played
from rootbound_service.desk.capacity.queue import Events, Station

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.random import Generator

    from rootbound_service.desk.capacity.asked import Asked
    from rootbound_service.desk.capacity.measured import Measured

MOST_EVENTS = 4_000
"""Of one station and night; beyond, several requests or letters are one event."""


def play(
    asked: Asked, workers: int, nights: int, seed: int, measured: Measured, chance: Chance
) -> list[Played]:
    """Play nights, each with chances of its own.

    Parameters
    ----------
    asked
        The question.
    workers
        Processes that compute.
    nights
        How many.
    seed
        The same, the same nights.
    measured
        The figures.
    chance
        What goes wrong.
    """
    one = sized(asked, measured)
    seeds = np.random.SeedSequence(seed).spawn(nights)
    return [
        _Night(one, workers, chance, np.random.default_rng(of), number).play()
        for number, of in enumerate(seeds, 1)
    ]


class _Night:
    """One night's stations, wired."""

    def __init__(
        self, one: Sized, workers: int, chance: Chance, rng: Generator, number: int
    ) -> None:
        self.one, self.workers, self.chance, self.rng = one, workers, chance, rng
        self.number = number
        self.events = Events()
        self.pulled = self.stored = self.written = self.out = 0.0

    def play(self) -> Played:
        """Let the night happen."""
        letters, texts = self._told()
        self._stations(letters, texts)
        if self._pull() == 0:
            self._compute()
        self.events.run()
        return Played(
            night=self.number,
            pulled_s=self.pulled,
            stored_s=self.stored,
            written_s=self.written,
            out_s=self.out,
            letters=letters,
            texts=texts,
            stations={name: one.watched for name, one in self.stations.items()},
            each=self.each,
        )

    def _told(self) -> tuple[int, int]:
        """How many letters and texts this night makes."""
        habits = self.one.asked.habits
        rising = self.one.measured["rises_a_season"] / habits.nights
        if self.number in self.chance.drought:
            rising = habits.drought_share / habits.drought_nights
        mean = told(self.one.asked, rising)
        return int(self.rng.poisson(mean.letters)), int(self.rng.poisson(mean.texts))

    def _stations(self, letters: int, texts: int) -> None:
        """Make the stations; what is too many for single events goes in groups."""
        one, machines = self.one, self.one.asked.machines
        measured = one.measured
        requests = sum(pull.requests for pull in one.pulls.usual)
        totals = {"pulls": requests, "letters": letters, "mail": letters, "texts": texts}
        self.groups = {name: min(total, MOST_EVENTS) for name, total in totals.items()}
        self.each = {name: totals[name] / max(many, 1) for name, many in self.groups.items()}
        each_s = one.pull_s / max(requests, 1)
        chunk_s = one.compute_core_s / one.chunks
        rows_s = one.rows_s / one.chunks
        write_s = measured["letter_cpu_ms"] / 1e3
        senders = max(1, min(machines.senders, math.ceil(mail_per_s(one) * measured["send_s"])))
        losing = 3600.0 / self.chance.lost_per_hour if self.chance.lost_per_hour > 0 else math.inf
        self.stations = {
            "pulls": Station(self.events, 1, self._many("pulls", self._asked(each_s))),
            "chunks": Station(
                self.events,
                self.workers,
                self._about(chunk_s),
                None if math.isinf(losing) else lambda: float(self.rng.exponential(losing)),
                self.chance.back_s,
            ),
            "rows": Station(self.events, machines.writers, self._about(rows_s)),
            "letters": Station(
                self.events, machines.letter_cores,
                self._many("letters", self._about(write_s)),
            ),
            "mail": Station(
                self.events, senders,
                self._many("mail", lambda: senders / mail_per_s(one)),
            ),
            "texts": Station(
                self.events, 1, self._many("texts", lambda: 1 / machines.texts_per_s)
            ),
        }  # fmt: skip

    def _about(self, usual_s: float) -> Callable[[], float]:
        """A time around the usual one, whose mean it keeps."""
        spread = self.chance.spread
        return lambda: usual_s * float(self.rng.lognormal(-(spread**2) / 2, spread))

    def _asked(self, usual_s: float) -> Callable[[], float]:
        """The time of a request: never under the pause, twice where it has to be made again."""
        pause, about = self.one.asked.manners.pause_s, self._about(usual_s)

        def takes() -> float:
            again = 2 if self.rng.random() < self.chance.failing else 1
            return max(about(), pause) * again

        return takes

    def _many(self, name: str, one_s: Callable[[], float]) -> Callable[[], float]:
        """The time of a group of things."""
        return lambda: self.each[name] * one_s()

    def _pull(self) -> int:
        """Ask everything, one request after the other; then chunks begin."""
        left = self.groups["pulls"]

        def done() -> None:
            nonlocal left
            left -= 1
            self.pulled = self.events.now
            if left == 0:
                self._compute()

        for _ in range(left):
            self.stations["pulls"].arrive(done)
        return self.groups["pulls"]

    def _compute(self) -> None:
        """Hand every chunk out; what is computed is written; then letters begin."""
        left = self.one.chunks

        def stored() -> None:
            nonlocal left
            left -= 1
            self.stored = self.written = self.out = self.events.now
            if left == 0:
                self._tell()

        for _ in range(self.one.chunks):
            self.stations["chunks"].arrive(lambda: self.stations["rows"].arrive(stored))

    def _tell(self) -> None:
        """Write letters; each goes at eight o'clock or when it is written, texts beside them."""
        opens = self.one.asked.habits.night_s

        def out() -> None:
            self.out = max(self.out, self.events.now)

        def written() -> None:
            self.written = self.events.now
            self.events.at(opens, lambda: self.stations["mail"].arrive(out))

        for _ in range(self.groups["letters"]):
            self.stations["letters"].arrive(written)
        for _ in range(self.groups["texts"]):
            self.events.at(opens, lambda: self.stations["texts"].arrive(out))
