"""What the renderer may fetch: the shipped fonts, and nothing else. Apart, since it loads the renderer's library."""

from __future__ import annotations

from functools import cache
from typing import Final

from weasyprint import CSS
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from benchseal import shipped
from benchseal.certificate.complete import EVEN_WIDTH, FONT_FILES
from benchseal.certificate.native_memory import give_back
from benchseal.certificate.render import LOGO

FONT_SCHEME: Final = "benchseal:"


class ShippedOnly(URLFetcher):  # type: ignore[misc]  # the library is not typed
    """Gives out the shipped fonts, the logo that was checked, and nothing else, whatever a template asks for.

    refused: the last refusal in words.
    """

    refused: str = ""

    def __init__(self, logo: bytes = b"") -> None:
        super().__init__()
        self._logo = logo

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:  # noqa: ARG002
        """Bytes of a font or the logo; FatalURLFetchingError, which stops the rendering, for any other address."""
        if url == LOGO and self._logo:
            return URLFetcherResponse(url, self._logo, {"Content-Type": "image/png"})
        name = url.removeprefix(FONT_SCHEME)
        if not url.startswith(FONT_SCHEME) or name not in (*FONT_FILES, EVEN_WIDTH):
            self.refused = f"a paper may not fetch {url[:200]}"
            raise FatalURLFetchingError(self.refused)
        return URLFetcherResponse(url, shipped.template_bytes(name), {"Content-Type": "font/ttf"})


@cache
def type_of(style: str) -> tuple[FontConfiguration, CSS]:
    """A style with its fonts loaded, once in a process. Kept here so that it goes before the library it needs does."""
    fonts = FontConfiguration()
    give_back(fonts)
    return fonts, CSS(string=style, font_config=fonts, url_fetcher=ShippedOnly())
