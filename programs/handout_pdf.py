"""A sheet as a PDF, where the system has what the PDF library stands on."""

from pathlib import Path

from django.conf import settings

STYLE = settings.BASE_DIR / "static" / "css" / "handout.css"


class PdfUnavailable(Exception):
    """This installation cannot make PDFs; the browser's own print can."""


def pdf_of(html: str, *, style: Path = STYLE) -> bytes:
    """Return a page as a tagged PDF; nothing outside the page itself is fetched.

    Raises PdfUnavailable where the library, or Pango under it, is missing.
    """
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:
        raise PdfUnavailable from error
    nothing = URLFetcher(allowed_protocols=())
    css = CSS(string=style.read_text(encoding="utf-8"), url_fetcher=nothing)
    page = HTML(string=html, url_fetcher=nothing)
    made: bytes = page.write_pdf(stylesheets=[css], pdf_variant="pdf/ua-1")
    return made
