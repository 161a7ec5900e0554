"""A digest's page on paper: the same HTML, set by WeasyPrint; an extra."""

from __future__ import annotations

from rootbound_service.errors import ServiceError


class NoPdf(ServiceError):
    """The library or one of its own is not installed."""


def pdf_of(html: str) -> bytes:
    """Set a page as PDF.

    Parameters
    ----------
    html
        A page that needs nothing from elsewhere; nothing is fetched.

    Raises
    ------
    NoPdf
        If WeasyPrint or Pango is not installed.
    """
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise NoPdf("no PDF: install rootbound[pdf] and the Pango library") from error

    def never(url: str, *_: object, **__: object) -> dict[str, object]:
        if url.startswith("data:"):
            fetched: dict[str, object] = weasyprint.default_url_fetcher(url)
            return fetched
        raise ValueError("a page fetches nothing")

    made: bytes = weasyprint.HTML(string=html, url_fetcher=never).write_pdf()
    return made
