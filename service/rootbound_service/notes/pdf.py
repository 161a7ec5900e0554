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
        import weasyprint.urls
    except (ImportError, OSError) as error:
        raise NoPdf("no PDF: install rootbound[pdf] and the Pango library") from error

    only_within = weasyprint.urls.URLFetcher(allowed_protocols={"data"}, fail_on_errors=True)
    made: bytes | None = weasyprint.HTML(string=html, url_fetcher=only_within).write_pdf()
    assert made is not None  # noqa: S101  (it is written to no file)
    return made
