"""What a season of a crop rests on without a source, in sentences."""

from __future__ import annotations

from rootbound_rules.crop.words import crop_words


def gaps(crop: str) -> tuple[str, ...]:
    """Say what a season of a crop uses that is from memory, a stand-in or has no source.

    Parameters
    ----------
    crop
        A crop that has a table.

    Returns
    -------
    tuple of str
        One sentence for each subject, which names the crop.

    Raises
    ------
    RulesError
        If there is no such crop.
    """
    return tuple(f"{crop}: {gap.text}" for gap in crop_words(crop).gaps)
