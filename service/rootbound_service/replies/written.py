"""What somebody wrote in a letter, without what they quoted: pure functions of the letter."""

from __future__ import annotations

import re
from email.message import EmailMessage
from html.parser import HTMLParser

from rootbound_service.replies.storable import storable

_BLOCKS = {"p", "div", "br", "tr", "li", "h1", "h2", "h3", "table"}
_APART = {"style", "script", "head", "blockquote"}
_RULE = re.compile(r"[-_]{5,}|-- ?$|-{2,} ?\w[\w ]* ?-{2,}$")
"""From here on it is a signature, or the letter that is answered."""
_WROTE = re.compile(r"(?i).*(wrote|schrieb|escribi\u00f3|a \u00e9crit)\s*:$|on .*@\S+>?\s*$")
_GREETING = re.compile(r"(?i)(hi|hello|hey|dear|good (morning|day|evening))\b[^.!?]{0,40}$")
PARAGRAPHS, LONGEST = 5, 300


def written(mail: EmailMessage, ours: str = "") -> list[str]:
    """Give the paragraphs that somebody wrote.

    Parameters
    ----------
    mail
        Their letter.
    ours
        The text of the letter of ours that they answer: its lines are not theirs.

    Returns
    -------
    list of str
        Without greeting, quotation and signature; the first few, each cut short.
    """
    known = {" ".join(line.split()) for line in ours.splitlines()} - {""}
    paragraphs: list[list[str]] = [[]]
    for line in storable(_body(mail)).splitlines():
        text = " ".join(line.split())
        if _RULE.match(text):
            break
        if not text:
            paragraphs.append([])
        elif not (text.startswith(">") or text in known or _WROTE.match(text)):
            paragraphs[-1].append(text)
    said = [" ".join(one)[:LONGEST] for one in paragraphs if one]
    greets = len(said) > 1 and _GREETING.fullmatch(said[0].rstrip(" ,!"))
    return said[1 if greets else 0 :][:PARAGRAPHS]


def _body(mail: EmailMessage) -> str:
    """The text of a letter; of one that has only HTML what a reader sees of it."""
    try:
        part = mail.get_body(("plain", "html"))
        content = part.get_content() if part is not None else ""
        if part is None or not isinstance(content, str):
            return ""
        return content if part.get_content_subtype() == "plain" else _seen(content)
    except (LookupError, ValueError, TypeError, AttributeError):  # whatever a broken letter raises
        return ""


def _seen(html: str) -> str:
    """Text of a page, a line for each block, without quotations."""
    page = _Page()
    page.feed(html)
    page.close()
    return "".join(page.seen)


class _Page(HTMLParser):
    """Collects what is seen of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self._apart = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002  (theirs)
        if tag in _APART:
            self._apart += 1
        elif tag in _BLOCKS:
            self.seen.append("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag in _APART:
            self._apart = max(0, self._apart - 1)
        elif tag in _BLOCKS:
            self.seen.append("\n")

    def handle_data(self, data: str) -> None:
        if not self._apart:
            self.seen.append(data)
