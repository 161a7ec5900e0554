"""The few moves in which feeds write XML: a root, an element with its text, the whole as bytes."""

from __future__ import annotations

from typing import Any, cast

from rootbound_service.feeds.clean import clean


def root(namespace: str, name: str) -> Any:
    """Make the outermost element of a document whose names need no prefix.

    Parameters
    ----------
    namespace
        Of all its elements.
    name
        Of this one.
    """
    from lxml import etree

    names = cast("dict[str, str]", {None: namespace})
    return etree.Element(f"{{{namespace}}}{name}", nsmap=names)


def below(parent: Any, name: str, text: str | None = None, **attributes: str) -> Any:
    """Put an element into another, in the namespace of that one.

    Parameters
    ----------
    parent
        The element around it.
    name
        Its name.
    text
        What it holds, if it is to hold words; what XML forbids is left out.
    attributes
        Its attributes.
    """
    from lxml import etree

    namespace = etree.QName(parent).namespace
    found = etree.SubElement(parent, f"{{{namespace}}}{name}", attributes)
    if text is not None:
        found.text = clean(text)
    return found


def written(document: Any) -> bytes:
    """Give a document as bytes, UTF-8.

    Parameters
    ----------
    document
        Its root.
    """
    from lxml import etree

    found: bytes = etree.tostring(document, xml_declaration=True, encoding="UTF-8")
    return found
