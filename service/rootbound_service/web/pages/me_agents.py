"""Browsers by what they call themselves, so that one knows one's own phone in a list."""

from __future__ import annotations

BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)
"""Signs of the user agent (RFC 9110 10.1.5); later names stand in those of earlier browsers."""
SYSTEMS = (
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "a Mac"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def browser_words(agent: str) -> str:
    """Name a browser and its machine in words.

    Parameters
    ----------
    agent
        As the browser names itself.
    """
    browser = next((word for sign, word in BROWSERS if sign in agent), "")
    system = next((word for sign, word in SYSTEMS if sign in agent), "")
    if browser and system:
        return f"{browser} on {system}"
    return browser or system or "A browser we do not know"
