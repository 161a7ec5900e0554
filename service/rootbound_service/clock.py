"""The only reader of the clock: everything else is handed a time or a Clock."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """Whatever can say what time it is."""

    def now(self) -> datetime:
        """Tell the time, aware and in UTC."""
        ...


class SystemClock:
    """The machine's own clock."""

    def now(self) -> datetime:
        """Tell the machine's time in UTC."""
        return datetime.now(UTC)


class SetClock:
    """A clock that stands where it was set: for tests, the demo and replays.

    Parameters
    ----------
    at
        The time to stand at; any time zone, but not naive.
    """

    def __init__(self, at: datetime) -> None:
        self.set(at)

    def now(self) -> datetime:
        """Tell the time it was last set to, in UTC."""
        return self._at

    def set(self, at: datetime) -> None:
        """Stand at another time.

        Parameters
        ----------
        at
            The new time; any time zone, but not naive.

        Raises
        ------
        ValueError
            If ``at`` has no time zone.
        """
        if at.utcoffset() is None:
            message = f"{at.isoformat()} has no time zone; set the clock with an aware datetime"
            raise ValueError(message)
        self._at = at.astimezone(UTC)
