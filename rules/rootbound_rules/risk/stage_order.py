"""Stages of a crop in the order of its season."""

from __future__ import annotations

from functools import cache

from rootbound_rules.crop.words import crop_words
from rootbound_rules.errors import RulesError

_AFTER_COLLARS = 100
"""Place of the first stage that is not counted by collars: beyond any number of leaves."""


@cache
def stage_order(stage: str, crop: str = "maize") -> int:
    """Place of a stage in the season.

    Parameters
    ----------
    stage
        ``planted`` or any stage in the words of the crop: ``VE``, ``V6``, ``R1``; ``5-leaf``.
    crop
        Whose stages.

    Returns
    -------
    int
        A number that grows with the season. [-]

    Raises
    ------
    RulesError
        If there is no such stage or no such crop.
    """
    words = crop_words(crop)
    fixed = {"planted": -1, words.up: 0}
    fixed |= {name: _AFTER_COLLARS + place for place, name in enumerate(words.stages)}
    if stage in fixed:
        return fixed[stage]
    before, after = words.collar.split("{}")
    number = stage.removeprefix(before).removesuffix(after)
    if number.isdecimal() and int(number) > 0 and stage == words.at_collar(int(number)):
        return int(number)
    known = ", ".join(("planted", words.up, words.at_collar(1), "...", *words.stages))
    raise RulesError(f"{stage!r} is no stage of {crop}: {known}")
