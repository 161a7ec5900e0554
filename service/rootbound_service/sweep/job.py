"""What is swept: numbered chunks, each a pure function of the job's values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Arrays = Mapping[str, NDArray[Any]]


class Job(Protocol):
    """Chunks to compute; goes to other processes with each, so it is small and can be pickled."""

    @property
    def fingerprint(self) -> str:
        """Names everything the chunks follow from: the same name, the same parts."""
        ...

    @property
    def count(self) -> int:
        """How many chunks there are."""
        ...

    def compute(self, number: int) -> Arrays:
        """Compute one chunk.

        Parameters
        ----------
        number
            Of the chunk, from 0.
        """
        ...
