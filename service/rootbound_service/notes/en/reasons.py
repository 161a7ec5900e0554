"""The ladder's named reasons as sentences."""

from __future__ import annotations

from rootbound_rules.risk.ladder import Reason

SENTENCES = {
    Reason.AMPLE: "The water in reach should last for the coming two weeks.",
    Reason.STRESS_LIKELY_14_DAYS: "The next two weeks may well use up the water in reach.",
    Reason.STRESS_LIKELY_7_DAYS: "The coming week may well use up the water in reach.",
    Reason.CRITICAL_14_DAYS: (
        "The next two weeks could use up the water in reach. It is less likely than not, but "
        "these are the weeks in which lack of water costs most, so you hear earlier."
    ),
    Reason.CRITICAL_7_DAYS: (
        "The coming week could use up the water in reach. It is less likely than not, but "
        "these are the weeks in which lack of water costs most, so you hear earlier."
    ),
    Reason.SHORT_PAST_3_DAYS: "The crop has lacked water over the past three days.",
    Reason.FAILING_PAST_7_DAYS: "The crop has lacked water through most of the past week.",
    Reason.RISE_WAITS: (
        "Tonight looks worse, but the rung changed only just now. It climbs within days if "
        "that lasts, and at once if the crop runs short."
    ),
    Reason.FALL_WAITS: (
        "Tonight looks better, but the rung changed only just now. It comes down within days "
        "if that lasts."
    ),
    Reason.HELD_BY_HYSTERESIS: (
        "Tonight looks better, but the rung stands until several nights or a soaking rain agree."
    ),
    Reason.FELL_AFTER_NIGHTS: "Several better nights in a row have brought it down.",
    Reason.FELL_AFTER_WETTING: "Rain has refilled the soil in reach.",
    Reason.RAIN_NOT_KNOWN: (
        "It may have climbed, but no source knows the rain of some of the last days; "
        "it is looked at again tomorrow."
    ),
    Reason.GROWN_FREE: (
        "Good news: the roots have grown past what held them and now reach nearly all the "
        "soil that free roots would."
    ),
    Reason.HELD_AGAIN: (
        "An earlier note said that the roots had grown free. What is known now finds them "
        "held after all, so do not rely on it."
    ),
    Reason.UNRATED: "No dig yet, so nobody knows how its roots stand.",
    Reason.NOT_EMERGED: "The crop is not up yet.",
    Reason.BLACK_LAYER: "Black layer is reached.",
    Reason.HARVESTED: "The field is harvested; the watch of this season is over.",
    Reason.WEATHER_TOO_OLD: "The last real weather is too old.",
    Reason.WEATHER_PATCHY: "Too many days of its weather are missing.",
    Reason.NO_OUTLOOK: "There are too few past summers of weather here for an outlook.",
    Reason.NOT_COMPUTED: "It could not be computed with what is stored of it.",
}

_EASED = (
    "Good news: the water in reach should again last for the coming two weeks.",
    "Better, but the next two weeks may still use up the water in reach.",
    "Better, but the coming week may still use up the water in reach.",
    "A little better, but the crop still lacks water.",
)


_OF_ROOTS = {Reason.GROWN_FREE, Reason.HELD_AGAIN}
"""News of the roots stand by themselves, whatever the rung did."""


def reason_sentence(reason: str, rung: int, *, eased: bool = False) -> str:
    """Return why a field stands where it stands.

    Parameters
    ----------
    reason
        Name of the reason, as the ladder gave it.
    rung
        The rung reached. [0-4]
    eased
        Whether the field came down; then it is also told how well it stands now.

    Returns
    -------
    str
        One or two sentences; nothing for a reason that this version does not know.
    """
    known = SENTENCES.get(Reason(reason), "") if reason in set(Reason) else ""
    if not eased or rung >= len(_EASED) or reason in _OF_ROOTS:
        return known
    fell = reason in {Reason.FELL_AFTER_NIGHTS, Reason.FELL_AFTER_WETTING}
    return f"{known} {_EASED[rung]}" if fell else _EASED[rung]
