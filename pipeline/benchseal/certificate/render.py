"""A view on paper: Jinja, then WeasyPrint, to PDF/A-3 (level A, tagged) with the evidence attached.

The same view, attachments and time give the same bytes, in this process or another, as long as the versions of
WeasyPrint, Pango and HarfBuzz are the same and HarfBuzz's subsetting library is present. Nothing is fetched:
the only resources are the shipped fonts, and any other address is a fault of a template.
"""

from __future__ import annotations

import logging
import re
import threading
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, Literal, TypeAlias

from jinja2 import FunctionLoader, StrictUndefined
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from benchseal import shipped
from benchseal.certificate.complete import view_problems
from benchseal.certificate.kept_whole import in_groups
from benchseal.certificate.language import ENGLISH
from benchseal.certificate.long_papers import PEOPLE_BESIDE_THE_MARK, Length, TablePart, crowds, in_parts, length_of
from benchseal.pictures.calibration import CalibrationPicture, calibration_picture
from benchseal.pictures.logo import png_bytes, svg_markup
from benchseal.pictures.rosette import Rosette, rosette

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration

    from benchseal.certificate.language import Words
    from benchseal.certificate.shipped_only import ShippedOnly
    from benchseal.certificate.view import CertificateView, ResultRow, RunPanel
    from benchseal.problems import Problem
    from benchseal.records.certificate_template import CertificateTemplate
    from benchseal.records.letterhead import Logo
    from benchseal.records.printed_form import Language
    from benchseal.records.site_rules import Paper

Relationship: TypeAlias = Literal["Source", "Supplement"]
_PanelRow: TypeAlias = "tuple[tuple[RunPanel, CalibrationPicture | None], ...]"

TEMPLATE: Final = "certificate.html.jinja"
BODY: Final = "certificate_body.html.jinja"  # the part a laboratory may lay out itself
STYLE: Final = "certificate.css"  # of papers about results, certificates or not
LOGO: Final = "benchseal:logo.png"
EVIDENCE: Final = "evidence.json"
SUPPLEMENT: Final = "supplement.json"

# Widths of a figure (or "<") and of a space in the heavier weight, in em; a test reads them from the font.
FIGURE_EM: Final = 0.513
SPACE_EM: Final = 0.2
GROUP_EM: Final = {"\u202f": 0.12, ".": 0.275, ",": 0.275, "’": 0.275}  # noqa: RUF001  the sign that is printed

_MM: Final = 72.0 / 25.4
TEXT_WIDTH_MM: Final = 174.0
_GAP_MM: Final = 4.5
# (Pictures in a row, rows) -> height of one, in points: what leaves room for seven checks under each on one page.
_HEIGHT: Final = {(2, 1): 200.0, (2, 2): 140.0, (3, 1): 150.0, (3, 2): 128.0, (4, 2): 95.0}
_LOWEST: Final = 95.0
_THREE_BY_TWO: Final = (3, 2)
_HIGH: Final = 160.0  # of two rows that come on two pages: they fill them
_AS_SHIPPED: Final[Mapping[str, str]] = MappingProxyType({})
# The text is as wide on either paper, so that what fits one fits the other. Letter is 215.9 mm wide, 279.4 mm high.
SIZES: Final[dict[Paper, str]] = {"": "", "letter": "letter; margin: 14mm 20.95mm 13mm 20.95mm"}
# Below two or three pictures in a row, and below four, where the name of a check has a line of its own.
_CHECK_COLUMNS: Final[dict[Language, tuple[tuple[float, ...], tuple[float, ...]]]] = {
    "en": ((36, 31.5, 24.4, 8.1), (44, 44, 12)),
    "de": ((31.7, 30.15, 25.55, 12.6), (42.6, 39.4, 18)),
}
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
    parts: tuple[TablePart[tuple[ResultRow, float]], ...]  # each row with the room before its value, in em
    long: Length
    beside: int  # signatures beside the mark, the last ones; those before them flow
    across: int
    check_columns: tuple[float, ...]  # widths of the columns under a picture, in percent
    panels: tuple[_PanelRow, ...]
    rosette: Rosette | None
    rosette_sentence: str
    digest: str
    end_mark: str
    logo: Markup


def evidence_and_supplement(evidence: bytes, supplement: bytes) -> tuple[Attached, Attached]:
    """The two files that every sealed certificate carries."""
    return (
        Attached(EVIDENCE, evidence, "Source", "Evidence: readings, calibration, checks and signatures"),
        Attached(SUPPLEMENT, supplement, "Supplement", "Release signature, checkpoint and proofs"),
    )


def render(
    view: CertificateView,
    attachments: tuple[Attached, ...],
    issued_at: datetime,
    paper: Paper = "",
    template: tuple[CertificateTemplate, ...] = (),
) -> bytes | tuple[Problem, ...]:
    """PDF bytes of ``view``, or every reason why it cannot be printed.

    template: the laboratory's own layout, or none; whoever uses one holds its pages against ``page_check``.
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
    logo = png_bytes(view.logo.data) if view.logo and view.logo.kind == "png" else b""
    style = "\n".join((_margins(view), *(one.style for one in template)))
    return render_paper(
        TEMPLATE,
        STYLE,
        issued_at,
        attachments,
        size=SIZES[paper],
        given=_given(template),
        more_style=style,
        logo=logo,
        **values_of(view, paper),
    )


def values_of(view: CertificateView, paper: Paper = "") -> dict[str, Any]:
    """What the template of certificates is given."""
    return {"view": view, "page": _page(view), "paper": paper}


def page_html(view: CertificateView, template: tuple[CertificateTemplate, ...] = ()) -> str:
    """The page of ``view`` before it is laid out; without its date, which is nowhere on paper."""
    given = tuple(_given(template).items())
    html: str = _environment(given).get_template(TEMPLATE).render(issued_at="", **values_of(view))
    return html


def template_text(template: str, **values: object) -> str:
    """The text of a shipped template before it is laid out; without its date."""
    html: str = _environment(()).get_template(template).render(issued_at="", **values)
    return html


def _given(template: tuple[CertificateTemplate, ...]) -> dict[str, str]:
    """What takes the place of a shipped template."""
    pages = [one.page for one in template if one.page.strip()]
    return dict.fromkeys([BODY] * len(pages), "".join(pages))


def render_paper(  # noqa: PLR0913  the one way to paper
    template: str,
    style: str,
    at: datetime,
    attachments: tuple[Attached, ...] = (),
    *,
    size: str = "",
    given: Mapping[str, str] = _AS_SHIPPED,
    more_style: str = "",
    logo: bytes = b"",
    **values: object,
) -> bytes:
    """PDF/A-3 bytes (level A, tagged) of a shipped template in a shipped style: the one way from values to paper.

    at: aware; becomes the date of the document and of its attachments, and ``issued_at`` in the template. size: of the
    page as CSS names it, and what else differs with it; else the one the style states. given: templates by name,
    instead of the shipped ones. more_style: rules after those of the style. logo: a PNG the template may name as LOGO.
    """
    moment = at.astimezone(UTC).replace(microsecond=0)
    html = html_of(template, moment, given, **values)
    with _ONE_AT_A_TIME:
        return _pdf(html, attachments, moment, _type(style, size, more_style), logo)


def html_of(template: str, at: datetime, given: Mapping[str, str] = _AS_SHIPPED, **values: object) -> str:
    """The text a template gives. at: in UTC."""
    dated = at.strftime("%Y-%m-%dT%H:%M:%SZ")
    return _environment(tuple(given.items())).get_template(template).render(issued_at=dated, **values)


def _pdf(
    html: str, attachments: tuple[Attached, ...], moment: datetime, type_of: tuple[FontConfiguration, CSS], logo: bytes
) -> bytes:
    from weasyprint import HTML, Attachment  # noqa: PLC0415  heavy: who reads a page needs its words only

    from benchseal.certificate.shipped_only import FONT_SCHEME, ShippedOnly  # noqa: PLC0415
    from benchseal.certificate.tagging import finished  # noqa: PLC0415

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
    # An address without a scheme is asked of the fetcher too, and refused: it would be left out in silence otherwise.
    fetcher = ShippedOnly(logo)
    document = HTML(string=html, base_url=FONT_SCHEME, url_fetcher=fetcher)
    with warnings.catch_warnings(), _nothing_left_out(fetcher):
        warnings.simplefilter("ignore", ResourceWarning)  # the library leaves its colour profile open
        written: bytes = document.write_pdf(
            font_config=fonts,
            stylesheets=[style],
            pdf_variant="pdf/a-3a",
            pdf_tags=True,
            attachments=files,
            finisher=finished,
        )
    return written


class LeftOutError(RuntimeError):
    """The renderer could not draw something and would have gone on without it."""


class _Complaints(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.first = ""

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the first one."""
        self.first = self.first or record.getMessage()


@contextmanager
def _nothing_left_out(fetcher: ShippedOnly) -> Iterator[None]:
    """WeasyPrint logs what it cannot draw, and inside pictures what it may not fetch, and leaves it out.

    Raises LeftOutError or FatalURLFetchingError instead.
    """
    heard, logger = _Complaints(), logging.getLogger("weasyprint")
    logger.addHandler(heard)
    try:
        yield
    finally:
        logger.removeHandler(heard)
    if fetcher.refused:
        from weasyprint.urls import FatalURLFetchingError  # noqa: PLC0415

        raise FatalURLFetchingError(fetcher.refused)
    if heard.first:
        raise LeftOutError(heard.first)


def _type(style: str, size: str, more_style: str) -> tuple[FontConfiguration, CSS]:
    from benchseal.certificate.shipped_only import type_of  # noqa: PLC0415

    text = f"{shipped.template(style)}\n@page {{ size: {size}; }}\n" if size else shipped.template(style)
    return type_of(f"{text}{more_style}")


@lru_cache(maxsize=4)
def _environment(given: tuple[tuple[str, str], ...]) -> ImmutableSandboxedEnvironment:
    """Templates as shipped or given: everything put into them is text, and they reach nothing but that."""
    texts = dict(given)
    made = ImmutableSandboxedEnvironment(
        loader=FunctionLoader(lambda name: texts.get(name) or _shipped(name)),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["in_groups"] = in_groups
    made.filters["crowds"] = crowds
    return made


def _shipped(name: str) -> str | None:
    """A template by its plain name; None, so that it is not found, for one that names a place."""
    return shipped.template(name) if re.fullmatch(r"[a-z_]+(\.[a-z]+)*\.jinja", name) else None


def _margins(view: CertificateView) -> str:
    """Rules for the margins where they say more, or another language, than those of the style."""
    words, rules = view.words, ""
    if view.foot:
        rules += '@page { @bottom-center { content: string(laboratory) "\\A" string(foot); white-space: pre-line; } }\n'
        rules += "@page { @bottom-left { width: 30mm; } @bottom-right { width: 30mm; } }\n"
    return rules + page_number_rule(words)


def page_number_rule(words: Words) -> str:
    """The number of the page in the margin, in these words; nothing in English, which the style has."""
    if words.form.language == ENGLISH.form.language:
        return ""
    page, of = words.say("page/page"), words.say("page/of")
    return f'@page {{ @bottom-right {{ content: "{page} " counter(page) " {of} " counter(pages); }} }}\n'


def _page(view: CertificateView) -> _Page:
    digest, words = view.provenance.evidence_digest, view.words
    sealed = not view.unsealed_mark
    name = f"{view.title} {view.number}"
    return _Page(
        title=name if sealed else f"{words.word('mark', view.unsealed_mark)} {name}",
        subject=words.say("page/subject", product=view.item.product, lot=view.item.lot),
        parts=in_parts(_aligned(view.results, words.form.decimal), "table/results_part", words),
        long=length_of(view),
        beside=PEOPLE_BESIDE_THE_MARK,
        across=_across(view.runs),
        check_columns=_CHECK_COLUMNS[words.form.language][_across(view.runs) == 4],
        panels=_panels(view.runs, _across(view.runs), over_two_pages=_over_two_pages(view)),
        rosette=rosette(bytes.fromhex(digest)) if sealed else None,
        rosette_sentence=words.say("page/rosette_sentence", start=digest[:8]),
        digest=" ".join(digest[at : at + 16] for at in range(0, len(digest), 16)),
        end_mark=_end_mark(view),
        logo=_logo(view.logo),
    )


def _logo(logo: Logo | None) -> Markup:
    """The logo as the template draws it: an SVG written anew from its shapes, or a picture by its name."""
    if logo is None:
        return Markup()
    if logo.kind == "svg":
        return Markup(svg_markup(logo.data, logo.width_mm, logo.words))  # noqa: S704  holds what is listed only
    made = Markup('<img src="{}" alt="{}" style="width:{}mm">')
    return made.format(LOGO, logo.words, logo.width_mm)


def _end_mark(view: CertificateView) -> str:
    if not view.unsealed_mark:
        return view.words.say("page/end", number=view.number)
    named = view.words.word("mark_named", view.unsealed_mark)
    return view.words.say("page/end_unsealed", mark=named, number=view.number)


def _aligned(rows: tuple[ResultRow, ...], decimal: str) -> tuple[tuple[ResultRow, float], ...]:
    """Each row with the room before its value, in em, that brings the decimal marks into one line."""
    widths = [_before_mark_em(row.value, decimal) for row in rows]
    widest = max(widths, default=0.0)
    return tuple((row, round(widest - width, 3)) for row, width in zip(rows, widths, strict=True))


def _before_mark_em(value: str, decimal: str) -> float:
    before = value.partition(decimal)[0]
    narrow = {" ": SPACE_EM, **GROUP_EM}
    return round(sum(narrow.get(sign, FIGURE_EM) for sign in before), 4)


def _across(runs: tuple[RunPanel, ...]) -> int:
    """Panels in a row: two for up to two runs and for four, three for up to six, otherwise four."""
    return 2 if len(runs) in (1, 2, 4) else 3 if len(runs) <= 6 else 4


def _over_two_pages(view: CertificateView) -> bool:
    """Whether two rows of pictures come on two pages anyhow: after a table of changes, and in longer words."""
    return bool(view.changes) or view.words.form.language != ENGLISH.form.language


def _panels(runs: tuple[RunPanel, ...], across: int, *, over_two_pages: bool) -> tuple[_PanelRow, ...]:
    width = round((TEXT_WIDTH_MM - _GAP_MM * (across - 1)) / across * _MM, 1)
    rows = -(-len(runs) // across)
    height = _HEIGHT.get((across, rows), _LOWEST)
    height = _HIGH if over_two_pages and (across, rows) == _THREE_BY_TWO else height
    laid_out = tuple((run, _picture(run, width, height)) for run in runs)
    return tuple(laid_out[at : at + across] for at in range(0, len(laid_out), across))


def _picture(run: RunPanel, width: float, height: float) -> CalibrationPicture | None:
    return calibration_picture(run.calibration, width, height) if run.calibration else None
