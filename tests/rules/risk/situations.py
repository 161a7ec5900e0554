"""Every situation in which the service may ask what to do."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any, get_args

from rootbound_rules.crop.words import crop_words
from rootbound_rules.risk.action_rows import STATUSES, RootCause

CAUSES = (None, *get_args(RootCause))
BOTH = (True, False)


def stages_of(crop: str = "maize") -> list[str]:
    """Every stage of a crop from planting to maturity, in order."""
    words = crop_words(crop)
    collars = [words.at_collar(number) for number in range(21)]
    return ["planted", *collars, *words.stages]


def situations(crop: str = "maize") -> Iterator[tuple[tuple[Any, ...], dict[str, Any]]]:
    """Positional and named arguments of ``actions_for``."""
    for rung, stage, held, wet, cause, eased, status in itertools.product(
        range(5), stages_of(crop), BOTH, BOTH, CAUSES, BOTH, STATUSES
    ):
        named = {"cause": cause, "crop": crop, "eased": eased, "status": status}
        yield (rung, stage, held, wet), named
