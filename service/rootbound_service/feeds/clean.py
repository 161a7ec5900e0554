"""Names that people gave, fit for XML and calendars: one odd character would spoil a whole feed."""

from __future__ import annotations

import re

_FORBIDDEN = re.compile(
    "[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"  # XML 1.0, production 2: Char
    "|[\u007f-\u009f\u2028\u2029]"  # controls that XML allows and calendars do not
)


def clean(text: str) -> str:
    """Put a space in the place of what no feed may hold, and one for many.

    Parameters
    ----------
    text
        A name, or a sentence with one.
    """
    return " ".join(_FORBIDDEN.sub(" ", text).split())
