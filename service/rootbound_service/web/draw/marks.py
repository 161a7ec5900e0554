"""Small pieces of SVG: every word that somebody typed passes through here escaped."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr


def tag(name: str, inner: str = "", **attributes: object) -> str:
    """Write an element; ``class_`` stands for class, underscores for hyphens.

    Parameters
    ----------
    name
        Of the element.
    inner
        Its content, as SVG already.
    attributes
        Numbers are shortened to a tenth.
    """
    told = "".join(f" {_name(key)}={quoteattr(_value(one))}" for key, one in attributes.items())
    return f"<{name}{told}>{inner}</{name}>" if inner else f"<{name}{told}/>"


def words(text: str, x: float, y: float, kind: str = "", anchor: str = "start") -> str:
    """Write text at a place.

    Parameters
    ----------
    text
        Plain.
    x, y
        Where its baseline begins, ends or has its middle.
    kind
        Its class.
    anchor
        start, middle or end.
    """
    more = {"class_": kind} if kind else {}
    return tag("text", escape(text), x=x, y=y, text_anchor=anchor, **more)


def titled(text: str) -> str:
    """Write what is read out and shown on hovering."""
    return tag("title", escape(text))


def path(points: Iterable[tuple[float, float]], kind: str, *, close: bool = False) -> str:
    """Draw a line through points.

    Parameters
    ----------
    points
        In order.
    kind
        Its class.
    close
        Whether it comes back to its first point.
    """
    steps = " ".join(f"{_value(x)},{_value(y)}" for x, y in points)
    return tag("polygon" if close else "polyline", points=steps, class_=kind)


def _name(key: str) -> str:
    return key.rstrip("_").replace("_", "-") if key != "viewBox" else key


def _value(one: object) -> str:
    if isinstance(one, float):
        return f"{one:.1f}".removesuffix(".0")
    return str(one)
