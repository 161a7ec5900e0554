"""How often one caller may ask: links are guessed by nobody, and hooks flood nothing."""

from __future__ import annotations

from collections import OrderedDict
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from rootbound_service.clock import Clock

Kind = Literal["letting in", "page", "call"]

WINDOW = timedelta(minutes=1)
LETTING_IN = 30
"""Requests a minute from one address that may let somebody in, or send them a letter."""
USUAL = 240
"""Of pages: an office shares one address, and a page of photos asks for a dozen."""
BURST = 1200
"""Of a provider: its calls come in bursts, and one-click stops of many readers from one address."""
MOST: dict[Kind, int] = {"letting in": LETTING_IN, "page": USUAL, "call": BURST}
FREE = ("/healthz", "/metrics")
FILES = "/s/"
"""The same few files for everybody, from memory, and kept by every browser."""
DOORS = ("/sign-in", "/enter/", "/join/")
CALLS = ("/in/", "/api/")
"""Calls of programs; a token of the interface has its own measure besides."""
KEPT = 20_000
"""Addresses remembered; the oldest are forgotten."""
NETWORK_BITS = 64
"""What one customer is given of the newer addresses (RFC 6177): one caller, one count. [bit]"""


class Pace:
    """Counts requests by address in windows of a minute.

    Parameters
    ----------
    clock
        The time.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._counts: OrderedDict[tuple[str, Kind], tuple[datetime, int]] = OrderedDict()

    def allows(self, address: str, path: str, method: str = "GET") -> bool:
        """Count a request and tell whether it may be answered.

        Parameters
        ----------
        address
            Of the caller.
        path
            What is asked for.
        method
            And how: pressing "stop" is never slowed down with the pages.
        """
        if path in FREE or path.startswith(FILES):
            return True
        kind = _kind(path, method)
        key: tuple[str, Kind] = (caller(address), kind)
        now = self._clock.now()
        begun, count = self._counts.get(key, (now, 0))
        if now - begun >= WINDOW:
            begun, count = now, 0
        self._counts[key] = (begun, count + 1)
        self._counts.move_to_end(key)
        while len(self._counts) > KEPT:
            self._counts.popitem(last=False)
        return count < MOST[kind]


def caller(address: str) -> str:
    """Name whoever is behind an address: its network, where one caller has a whole one.

    Parameters
    ----------
    address
        As the server names it.
    """
    try:
        found = ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, IPv6Address) and found.ipv4_mapped is None:
        return str(int(found) >> (128 - NETWORK_BITS))
    return str(found)


def _kind(path: str, method: str) -> Kind:
    if path.startswith(CALLS) or (method == "POST" and path.startswith("/u/")):
        return "call"
    return "letting in" if path.startswith(DOORS) else "page"
