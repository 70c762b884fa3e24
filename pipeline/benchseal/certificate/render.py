"""A view on paper: Jinja, then WeasyPrint, to PDF/A-3 (level A, tagged) with the evidence attached.

The same view, attachments and time give the same bytes, in this process or another, as long as the versions of
WeasyPrint, Pango and HarfBuzz are the same and HarfBuzz's subsetting library is present. Nothing is fetched:
the only resources are the shipped fonts, and any other address is a fault of a template.
"""

from __future__ import annotations

import threading
import warnings
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING, Any, Final, Literal, TypeAlias

import pydyf
from jinja2 import FunctionLoader, StrictUndefined
from jinja2.sandbox import ImmutableSandboxedEnvironment
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from benchseal import shipped
from benchseal.certificate.complete import EVEN_WIDTH, FONT_FILES, view_problems
from benchseal.pictures.calibration import CalibrationPicture, calibration_picture
from benchseal.pictures.rosette import Rosette, rosette

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView, ResultRow, RunPanel
    from benchseal.problems import Problem
    from benchseal.records.site_rules import Paper

Relationship: TypeAlias = Literal["Source", "Supplement"]
_PanelRow: TypeAlias = "tuple[tuple[RunPanel, CalibrationPicture | None], ...]"

TEMPLATE: Final = "certificate.html.jinja"
STYLE: Final = "certificate.css"  # of papers about results, certificates or not
EVIDENCE: Final = "evidence.json"
SUPPLEMENT: Final = "supplement.json"
FONT_SCHEME: Final = "benchseal:"

# Widths of a figure (or "<") and of a space in the heavier weight, in em; a test reads them from the font.
FIGURE_EM: Final = 0.513
SPACE_EM: Final = 0.2

_MM: Final = 72.0 / 25.4
TEXT_WIDTH_MM: Final = 174.0
_GAP_MM: Final = 4.5
# (Pictures in a row, rows) -> height of one, in points: what leaves room for seven checks under each on one page.
_HEIGHT: Final = {(2, 1): 200.0, (2, 2): 140.0, (3, 1): 150.0, (3, 2): 128.0, (4, 2): 95.0}
_LOWEST: Final = 95.0
# The text is as wide on either paper, so that what fits one fits the other. Letter is 215.9 mm wide, 279.4 mm high.
SIZES: Final[dict[Paper, str]] = {"": "", "letter": "letter; margin: 14mm 20.95mm 13mm 20.95mm"}
_ONE_AT_A_TIME: Final = threading.Lock()  # Pango's font map is shared by the whole process


@dataclass(frozen=True, slots=True)
class Attached:
    """A file inside the PDF: ``Source`` is what the figures are calculated from, ``Supplement`` what proves it."""

    name: str
    data: bytes
    relationship: Relationship
    description: str


@dataclass(frozen=True, slots=True)
class _Page:
    """What the template needs beside the view: laid-out pictures and composed texts."""

    title: str
    subject: str
    rows: tuple[tuple[ResultRow, float], ...]  # the room before the value, in em
    across: int
    panels: tuple[_PanelRow, ...]
    rosette: Rosette | None
    rosette_sentence: str
    digest: str
    end_mark: str


def evidence_and_supplement(evidence: bytes, supplement: bytes) -> tuple[Attached, Attached]:
    """The two files that every sealed certificate carries."""
    return (
        Attached(EVIDENCE, evidence, "Source", "Evidence: readings, calibration, checks and signatures"),
        Attached(SUPPLEMENT, supplement, "Supplement", "Release signature, checkpoint and proofs"),
    )


def render(
    view: CertificateView, attachments: tuple[Attached, ...], issued_at: datetime, paper: Paper = ""
) -> bytes | tuple[Problem, ...]:
    """PDF bytes of ``view``, or every reason why it cannot be printed.

    issued_at: aware; becomes the date of the document and of its attachments. Raises ValueError for a naive one
    and for an unsealed paper with attachments, which would look like a certificate to a reader.
    """
    if issued_at.tzinfo is None:
        raise ValueError("issued_at must be aware")
    if view.unsealed_mark and attachments:
        raise ValueError("an unsealed paper carries no attachments")
    problems = view_problems(view)
    if problems:
        return problems
    size, page = SIZES[paper], _page(view)
    return render_paper(TEMPLATE, STYLE, issued_at, attachments, size=size, view=view, page=page, paper=paper)


def render_paper(
    template: str,
    style: str,
    at: datetime,
    attachments: tuple[Attached, ...] = (),
    *,
    size: str = "",
    **values: object,
) -> bytes:
    """PDF/A-3 bytes (level A, tagged) of a shipped template in a shipped style: the one way from values to paper.

    at: aware; becomes the date of the document and of its attachments, and ``issued_at`` in the template. size: of the
    page as CSS names it, and what else differs with it; else the one the style states.
    """
    moment = at.astimezone(UTC).replace(microsecond=0)
    dated = moment.strftime("%Y-%m-%dT%H:%M:%SZ")
    html = _environment().get_template(template).render(issued_at=dated, **values)
    with _ONE_AT_A_TIME:
        return _pdf(html, attachments, moment, _type(style, size))


def _pdf(
    html: str, attachments: tuple[Attached, ...], moment: datetime, type_of: tuple[FontConfiguration, CSS]
) -> bytes:
    fonts, style = type_of
    files = [
        Attachment(
            string=a.data,
            name=a.name,
            description=a.description,
            created=moment,
            modified=moment,
            relationship=a.relationship,
        )
        for a in attachments
    ]
    document = HTML(string=html, url_fetcher=ShippedOnly())
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # the library leaves its colour profile open
        written: bytes = document.write_pdf(
            font_config=fonts,
            stylesheets=[style],
            pdf_variant="pdf/a-3a",
            pdf_tags=True,
            attachments=files,
            finisher=_name_each_attachment_once,
        )
    return written


def _name_each_attachment_once(_document: object, pdf: Any) -> None:  # noqa: ANN401  pydyf is not typed
    """WeasyPrint lists every attachment twice in the catalog's AF array."""
    if "AF" in pdf.catalog:
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(pdf.catalog["AF"]))


class ShippedOnly(URLFetcher):  # type: ignore[misc]  # the library is not typed
    """Gives out the shipped fonts and nothing else, whatever a template asks for."""

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:  # noqa: ARG002
        """Bytes of a shipped font; FatalURLFetchingError, which stops the rendering, for any other address."""
        name = url.removeprefix(FONT_SCHEME)
        if not url.startswith(FONT_SCHEME) or name not in (*FONT_FILES, EVEN_WIDTH):
            raise FatalURLFetchingError(f"a certificate may not fetch {url}")
        return URLFetcherResponse(url, shipped.template_bytes(name), {"Content-Type": "font/ttf"})


@cache
def _type(style: str, size: str) -> tuple[FontConfiguration, CSS]:
    fonts = FontConfiguration()
    text = f"{shipped.template(style)}\n@page {{ size: {size}; }}\n" if size else shipped.template(style)
    return fonts, CSS(string=text, font_config=fonts, url_fetcher=ShippedOnly())


@cache
def _environment() -> ImmutableSandboxedEnvironment:
    """Templates as shipped: everything put into them is text."""
    return ImmutableSandboxedEnvironment(
        loader=FunctionLoader(shipped.template),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _page(view: CertificateView) -> _Page:
    digest = view.provenance.evidence_digest
    sealed = not view.unsealed_mark
    name = f"{view.title} {view.number}"
    return _Page(
        title=name if sealed else f"{view.unsealed_mark} {name}",
        subject=f"{view.item.product}, lot {view.item.lot}",
        rows=_aligned(view.results),
        across=_across(view.runs),
        panels=_panels(view.runs, _across(view.runs)),
        rosette=rosette(bytes.fromhex(digest)) if sealed else None,
        rosette_sentence=f"Figure of closed curves drawn from the evidence digest {digest[:8]}.",
        digest=" ".join(digest[at : at + 16] for at in range(0, len(digest), 16)),
        end_mark=f"End of {'certificate' if sealed else view.unsealed_mark.lower()} {view.number}",
    )


def _aligned(rows: tuple[ResultRow, ...]) -> tuple[tuple[ResultRow, float], ...]:
    """Each row with the room before its value, in em, that brings the decimal marks into one line."""
    widths = [_before_mark_em(row.value) for row in rows]
    widest = max(widths, default=0.0)
    return tuple((row, round(widest - width, 3)) for row, width in zip(rows, widths, strict=True))


def _before_mark_em(value: str) -> float:
    before = value.partition(".")[0]
    return FIGURE_EM * len(before.replace(" ", "")) + SPACE_EM * before.count(" ")


def _across(runs: tuple[RunPanel, ...]) -> int:
    """Panels in a row: two for up to two runs and for four, three for up to six, otherwise four."""
    return 2 if len(runs) in (1, 2, 4) else 3 if len(runs) <= 6 else 4


def _panels(runs: tuple[RunPanel, ...], across: int) -> tuple[_PanelRow, ...]:
    width = round((TEXT_WIDTH_MM - _GAP_MM * (across - 1)) / across * _MM, 1)
    height = _HEIGHT.get((across, -(-len(runs) // across)), _LOWEST)
    laid_out = tuple((run, _picture(run, width, height)) for run in runs)
    return tuple(laid_out[at : at + across] for at in range(0, len(laid_out), across))


def _picture(run: RunPanel, width: float, height: float) -> CalibrationPicture | None:
    return calibration_picture(run.calibration, width, height) if run.calibration else None
