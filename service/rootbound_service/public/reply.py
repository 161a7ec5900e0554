"""One whole answer of a public service."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from requests.structures import CaseInsensitiveDict


def _none() -> CaseInsensitiveDict[str]:
    """No headers."""
    return CaseInsensitiveDict()


@dataclass(frozen=True, slots=True)
class Reply:
    """A whole answer, of whatever status a retry would not change."""

    status: int
    content: bytes
    content_type: str
    headers: Mapping[str, str] = field(default_factory=_none)
    """By name, upper and lower case alike."""

    @property
    def is_web_page(self) -> bool:
        """Whether it is a page for people, as a proxy or an outage gives."""
        return "html" in self.content_type or self.content.lstrip()[:1] == b"<"
