"""Records that travel light between processes: by their values in order, not by name."""

from __future__ import annotations

import copyreg
from collections.abc import Callable
from dataclasses import fields
from operator import attrgetter
from typing import Any


def travel_light(*kinds: type[Any]) -> None:
    """Have frozen records pickled as a call with their values, in a third of the time.

    Python asks a frozen record with slots for its fields by name, each time anew.

    Parameters
    ----------
    kinds
        Data classes of two fields or more, each a positional argument.

    Raises
    ------
    TypeError
        If one cannot be made from its values in order.
    """
    for kind in kinds:
        own = fields(kind)
        if len(own) < 2 or not all(one.init and not one.kw_only for one in own):  # noqa: PLR2004  attrgetter of one gives no tuple
            raise TypeError(f"{kind.__name__} cannot be made from its values in order")
        copyreg.pickle(kind, _taken_apart(kind, attrgetter(*(one.name for one in own))))


def _taken_apart(kind: type[Any], values: attrgetter[Any]) -> Callable[[Any], tuple[Any, Any]]:
    """How a kind is pickled."""

    def apart(record: object) -> tuple[Any, Any]:
        return kind, values(record)

    return apart
