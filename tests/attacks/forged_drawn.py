"""Pages drawn or told otherwise by an insider, every word kept: what is seen, read aloud or opened is another thing.

Sealed with the laboratory's own key, so only the form of the page speaks against them. Common practice, no source.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pikepdf
from tests.attacks.forged_inside import redone
from tests.attacks.forged_outside import Attack

if TYPE_CHECKING:
    from collections.abc import Callable

_RUN: Final = rb"(?m)^1 0 0 -1 (\S+) (\S+) Tm\n/\S+ (\S+) Tf\n\[<([0-9a-f]{4})>-?[0-9.]+(<[^\]]*\]) TJ\nET$"


def _over_a_run(told: Callable[[float, float, float], bytes]) -> Callable[[pikepdf.Pdf], None]:
    """Instructions after a run in the middle of the page. told: its place and the height of its letters."""

    def change(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        found = list(re.finditer(_RUN, content.read_bytes()))[40]
        x, y, size = map(float, found.groups()[:3])
        data = content.read_bytes()
        content.write(data[: found.end()] + b"\nq\n" + told(x, y, size) + b"\nQ" + data[found.end() :])

    return change


def _run_told(form: bytes) -> Callable[[pikepdf.Pdf], None]:
    """The letters of a run set otherwise; {first} is its first letter, {rest} what follows."""

    def change(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        data = content.read_bytes()
        found = list(re.finditer(_RUN, data))[40]
        told = form.replace(b"{first}", found[4]).replace(b"{rest}", found[5])
        content.write(data[: found.start(4) - 2] + told + data[found.end(5) :])

    return change


def _matrix_told(form: bytes) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        content.write(content.read_bytes().replace(b"\n1 0 0 -1 ", b"\n" + form + b" "))

    return change


def _first(told: bytes) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        content.write(told + b"\n" + content.read_bytes())

    return change


def _end_painted(x: float, y: float, size: float) -> bytes:
    """White over the last letters only."""
    return b"1 1 1 rg\n%f %f 300 %f re\nf" % (x + 1.2 * size, y - size, 1.3 * size)


def _white_line(x: float, y: float, size: float) -> bytes:
    return b"1 1 1 RG\n2 w\n%f %f m\n%f %f l\nS" % (x, y - size / 5, x + 99, y - size / 5)


def _line_made_thick(x: float, y: float, size: float) -> bytes:  # noqa: ARG001  of every such function
    """Thin where its width is told, thick where it is drawn."""
    return b"1 1 1 RG\n1 w\n90 0 0 90 0 0 cm\n0 %f m\n9 %f l\nS" % (y / 90, y / 90)


def _no_widths(pdf: pikepdf.Pdf) -> None:
    for font in pdf.pages[0].Resources.Font.values():
        font.DescendantFonts[0].W = pikepdf.Array([0, pikepdf.Array([0] * 3000)])


def _wide_pages(pdf: pikepdf.Pdf) -> None:
    for page in pdf.pages:
        page.MediaBox = pikepdf.Array([0, 0, 14400, 14400])


def _places_changed(pdf: pikepdf.Pdf) -> None:
    """Two words of the table of results in each other's place; every other instruction is as it was."""
    content = pdf.pages[0].Contents
    data = content.read_bytes()
    runs = list(re.finditer(_RUN, data))
    one, other = runs[40], runs[46]
    places = [data[run.start(1) : run.end(2)] for run in (one, other)]
    between = data[one.end(2) : other.start(1)]
    content.write(data[: one.start(1)] + places[1] + between + places[0] + data[other.end(2) :])


def _language(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Lang = "fr"


def _titled(pdf: pikepdf.Pdf) -> None:
    """Above the page, in both places where a reader may look."""
    old = str(pdf.docinfo["/Title"])
    pdf.docinfo["/Title"] = "Cadmium complies"
    pdf.Root.Metadata.write(pdf.Root.Metadata.read_bytes().replace(old.encode(), b"Cadmium complies"))


def _catalogued(pdf: pikepdf.Pdf) -> None:
    told = pdf.Root.Metadata.read_bytes()
    pdf.Root.Metadata.write(
        told.replace(b"</rdf:RDF>", b"<rdf:Description><a>complies</a></rdf:Description></rdf:RDF>")
    )


def _keywords(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Keywords"] = "complies"


def _spoken(name: str) -> Callable[[pikepdf.Pdf], None]:
    """The first cell of the structure gets another text for whoever has the page read aloud."""

    def change(pdf: pikepdf.Pdf) -> None:
        waiting = [pdf.Root.StructTreeRoot.K]
        while waiting:
            item = waiting.pop()
            if isinstance(item, pikepdf.Array):
                waiting += list(item)
            elif isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/TD":
                item[name] = "0.001"
                return
            elif isinstance(item, pikepdf.Dictionary) and "/K" in item:
                waiting.append(item.K)
        raise AssertionError

    return change


def _roles(pdf: pikepdf.Pdf) -> None:
    pdf.Root.StructTreeRoot.RoleMap = pikepdf.Dictionary({"/TD": pikepdf.Name.Artifact})


def _evidence(pdf: pikepdf.Pdf) -> pikepdf.Object:
    return pdf.attachments["evidence.json"].obj


def _second_content(pdf: pikepdf.Pdf) -> None:
    """Readers that take the older key open another file."""
    _evidence(pdf).EF["/Unix"] = pdf.make_stream(b"{}")


def _second_name(pdf: pikepdf.Pdf) -> None:
    _evidence(pdf).F = "other.exe"


def _described(pdf: pikepdf.Pdf) -> None:
    _evidence(pdf).Desc = "Zinc complies"


def _kept_elsewhere(pdf: pikepdf.Pdf) -> None:
    """ISO 32000-1, 7.3.8.2: a reader that keeps to it takes the content from the file named."""
    _evidence(pdf).EF.F["/F"] = "other.json"


def _form_of_another_kind(pdf: pikepdf.Pdf) -> None:
    pdf.Root.AcroForm = pikepdf.Dictionary({"/Fields": pikepdf.Array([]), "/XFA": pdf.make_stream(b"<xdp/>")})


def _bookmark(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Outlines.First.Title = "Cadmium: 0.001"


def _opened(pdf: pikepdf.Pdf) -> None:
    pdf.Root.ViewerPreferences = pikepdf.Dictionary({"/HideWindowUI": True})


def _named_place(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Names.Dests = pikepdf.Dictionary({"/Names": ["a", pikepdf.Dictionary({"/D": [pdf.pages[0].obj]})]})


def _told(name: str, change: Callable[[pikepdf.Pdf], None], words: str) -> Attack:
    return Attack(name, redone(change), "page form", words)


_CORNERS: Final = b"0 0 1 1 re\n594 840 1 1 re\nW\nn"
_DARK: Final = b"q\n0.1 0.1 0.1 rg\n0 0 2000 3000 re\nf\nQ"

DRAWN: Final = (
    _told("drawn: letters carried off the page", _run_told(b"[<{first}>-90000{rest}"), "far apart"),
    _told("drawn: letters over each other", _run_told(b"[<{first}>600{rest}"), "over each other"),
    _told("drawn: carried off in small steps", _run_told(b"[<{first}>-200" + b"<>-200" * 99 + b"{rest}"), "far apart"),
    _told("drawn: every letter without a width", _no_widths, "over each other"),
    _told("drawn: letters flat as a line", _matrix_told(b"25 0 0 -0.04"), "out of shape"),
    _told("drawn: letters mirrored", _matrix_told(b"1 0 0 1"), "mirrored"),
    _told("drawn: the end of a value painted over", _over_a_run(_end_painted), "painted over text"),
    _told("drawn: a white line over a value", _over_a_run(_white_line), "painted over text"),
    _told("drawn: a line made thick after it was told", _over_a_run(_line_made_thick), "thicker"),
    _told("drawn: dark letters on a dark ground", _first(_DARK), "dark ground"),
    _told("drawn: seen through two corners only", _first(_CORNERS), "cut off"),
    _told("drawn: on pages of five metres", _wide_pages, "another size"),
    _told("drawn: two words in each other's place", _places_changed, "in another order than they are read"),
    _told("told: metadata of its own", _catalogued, "metadata say something else"),
    _told("told: keywords", _keywords, "says more of itself"),
    Attack("told: another title above the page", redone(_titled), "nothing else printed", "as its title"),
    Attack("told: another language", redone(_language), "nothing else printed", "as its language, 'fr'"),
    _told("told: another text read aloud", _spoken("/ActualText"), "/ActualText"),
    _told("told: a description read aloud", _spoken("/Alt"), "as other words"),
    _told("told: cells that are not read", _roles, "/RoleMap"),
    _told("told: a second content of the evidence", _second_content, "/Unix"),
    _told("told: a second name of the evidence", _second_name, "second name"),
    _told("told: another description of the evidence", _described, "described otherwise"),
    _told("told: evidence kept elsewhere", _kept_elsewhere, "the content of evidence.json holds /F"),
    _told("told: a form of another kind", _form_of_another_kind, "/XFA"),
    _told("told: a bookmark with a result", _bookmark, "a bookmark says"),
    _told("told: how a reader shows it", _opened, "how a reader shows it"),
    _told("told: a named place", _named_place, "/Dests"),
)
