"""What went wrong in a night of very many fields: a few sentences, whatever their number."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

MOST = 40
"""So many sentences of one kind; the others are counted."""
Silence = Sequence[object]


@dataclass(slots=True)
class Tally:
    """Counts of a night, filled chunk by chunk."""

    fields: int = 0
    silent: int = 0
    """Fields of which nothing can be said."""
    by_cell: Counter[str] = field(default_factory=Counter[str])
    """Of these, for want of weather, by cell."""
    failures: list[str] = field(default_factory=list[str])
    more: int = 0
    """Failures beyond those that are told one by one."""

    def add(self, silences: Sequence[Silence], cell_of: Mapping[int, str]) -> None:
        """Count the fields of a chunk that have no answer.

        Parameters
        ----------
        silences
            Field, status, failure, whether for want of weather.
        cell_of
            Cell key by field.
        """
        for number, status, failure, by_weather in silences:
            self.silent += status == "unknown"
            if by_weather and isinstance(number, int):
                self.by_cell[cell_of.get(number, "")] += 1
            if failure and len(self.failures) < MOST:
                self.failures.append(str(failure))
            elif failure:
                self.more += 1

    def sentences(self, troubles: Mapping[str, str]) -> tuple[str, ...]:
        """Say what went wrong.

        Parameters
        ----------
        troubles
            By cell key: why its weather did not come.
        """
        told = [self._of_cell(key, said) for key, said in sorted(troubles.items())[:MOST]]
        if len(troubles) > MOST:
            told.append(f"The weather of {len(troubles) - MOST} more cells did not come.")
        told += self.failures
        if self.more:
            told.append(f"{self.more} more fields have no answer.")
        return tuple(told)

    def _of_cell(self, key: str, said: str) -> str:
        """Sentence of a cell."""
        fields = self.by_cell[key]
        if not fields:
            return said
        noun = "field" if fields == 1 else "fields"
        return f"{said.rstrip('.')}; no answer for {fields} {noun}"
