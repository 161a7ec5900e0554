"""What may run out: each resource's load beside its limit, the scarcest first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.desk.capacity.pulls import seconds_of

if TYPE_CHECKING:
    from rootbound_service.desk.capacity.night import Sized

DAY_S = 86400.0
SHARE = 0.8
"""Of a limit that a service should use: above it there is no room for a bad night."""
PULLING, COMPUTING, WRITING, LETTERING = 0.5, 0.25, 0.125, 0.125
"""Parts of the time between the start of a night and eight o'clock: they follow each other."""
PAST = 0.5
"""Part of every day that past years of new cells may be asked for."""
WEB = 0.25
"""Part of the cores that pages may take."""
USUAL, FIRST = "a night's pulls", "pulls on the first of a month"
MOST_FILES = 5e6
"""Small files of a folder tree beyond which backups and listings take hours: a choice."""


@dataclass(frozen=True, slots=True)
class Resource:
    """One thing that may run out."""

    name: str
    load: float
    limit: float
    unit: str

    @property
    def used(self) -> float:
        """Share of the limit."""
        return self.load / self.limit


def mail_per_s(one: Sized) -> float:
    """Letters a second: what the senders manage, no more than the provider takes.

    Parameters
    ----------
    one
        What the model says.
    """
    machines = one.asked.machines
    return min(machines.mail_per_s, machines.senders / one.measured["send_s"])


def resources(one: Sized) -> list[Resource]:
    """List what may run out, the scarcest first.

    Parameters
    ----------
    one
        What the model says.
    """
    machines, habits = one.asked.machines, one.asked.habits
    cores = machines.hosts * machines.cores
    night, morning = habits.night_s, habits.telling_s
    memory = machines.cores * one.measured["worker_mb"] / 1e3
    past_s = max((pull.seconds for pull in one.pulls.past), default=0.0)
    first_s = seconds_of(one.pulls.first)
    weekly_s = one.digests * one.measured["letter_cpu_ms"] / 1e3
    letters_s = one.letter_core_s / machines.letter_cores
    found = (
        Resource(USUAL, one.pull_s, PULLING * night, "s"),
        Resource(FIRST, first_s, PULLING * night, "s"),
        Resource("past years of new cells", past_s, PAST * habits.enrol_days * DAY_S, "s"),
        Resource("computing", one.compute_core_s / cores, COMPUTING * night, "s"),
        Resource("memory of workers", memory, machines.memory_gb, "GB"),
        Resource("rows into the database", one.rows_s / machines.writers, WRITING * night, "s"),
        Resource("letters written", letters_s, LETTERING * night, "s"),
        Resource("weekly letters written", weekly_s / machines.letter_cores, night, "s"),
        Resource("letters sent", one.drought.letters / mail_per_s(one), morning, "s"),
        Resource("texts sent", one.drought.texts / machines.texts_per_s, morning, "s"),
        Resource("disk", one.stored.every, machines.hosts * machines.disk_gb, "GB"),
        Resource("files of forecasts", one.stored.weather_files, MOST_FILES, "files"),
        Resource("pages", one.web_cores, WEB * cores, "cores"),
    )
    return sorted(found, key=lambda resource: -resource.used)
