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


def _before_a_run(told: Callable[[float, float, float], bytes], after: bytes = b"") -> Callable[[pikepdf.Pdf], None]:
    """Instructions in front of a text object and, inside the same state, behind it."""

    def change(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        data = content.read_bytes()
        found = list(re.finditer(_RUN, data))[40]
        start = data.rindex(b"\nBT\n", 0, found.start()) + 1
        x, y, size = map(float, found.groups()[:3])
        content.write(
            data[:start]
            + b"q\n"
            + told(x, y, size)
            + b"\n"
            + data[start : found.end()]
            + after
            + b"\nQ"
            + data[found.end() :]
        )

    return change


def _object_told(change: Callable[[bytes], bytes]) -> Callable[[pikepdf.Pdf], None]:
    """The instructions of one text object in another order or number."""

    def make(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        data = content.read_bytes()
        found = list(re.finditer(_RUN, data))[40]
        start = data.rindex(b"\nBT\n", 0, found.start()) + 1
        told = change(data[start : found.end()])
        assert told != data[start : found.end()]
        content.write(data[:start] + told + data[found.end() :])

    return make


def _point_painted(x: float, y: float, size: float) -> bytes:
    """White as high as a decimal point."""
    return b"1 1 1 rg\n%f %f %f %f re\nf" % (x, y - 0.13 * size, 3 * size, 0.14 * size)


def _tail_painted(x: float, y: float, size: float) -> bytes:
    """White over what hangs below the line: a decimal comma becomes a point."""
    return b"1 1 1 rg\n%f %f %f %f re\nf" % (x, y + 0.06 * size, 3 * size, 0.2 * size)


def _head_painted(x: float, y: float, size: float) -> bytes:
    """White over the upper bar of figures: a 7 becomes a 1."""
    return b"1 1 1 rg\n%f %f %f %f re\nf" % (x, y - 0.8 * size, 3 * size, 0.18 * size)


def _curve(x: float, y: float, size: float) -> bytes:
    """Begins and ends beside the value, and swings over it."""
    told = (x - 1, y - 0.4 * size, x + 90, y - 0.6 * size, x + 90, y, x - 1, y - 0.3 * size)
    return b"1 1 1 rg\n%f %f m\n%f %f %f %f %f %f c\nf" % told


def _flat_pen(x: float, y: float, size: float) -> bytes:
    """A line of two points, drawn by a pen as wide as the value: lengths are not the same in both directions."""
    return b"1 1 1 RG\n1 w\n100 0 0 0.01 0 0 cm\n%f %f m\n%f %f l\nS" % (
        (x - 40) / 100, (y - size) * 100, (x - 40) / 100, (y + size) * 100,
    )  # fmt: skip


def _spike(x: float, y: float, size: float) -> bytes:
    """Two thin lines that meet beside the value; the point of their corner reaches over it."""
    return b"1 1 1 RG\n2 w\n0 j\n900 M\n%f %f m\n%f %f l\n%f %f l\nS" % (
        x - 60, y - 0.3 * size, x - 8, y - 0.29 * size, x - 60, y - 0.28 * size,
    )  # fmt: skip


def _dark_end(x: float, y: float, size: float) -> bytes:
    return b"0.1 0.1 0.1 rg\n%f %f 9 %f re\nf" % (x - 1, y - 0.8 * size, 0.9 * size)


def _bar_made(x: float, y: float, size: float) -> bytes:
    """A thin dark bar where a figure has none."""
    return b"0.1 0.1 0.1 rg\n%f %f %f 0.5 re\nf" % (x, y - 0.4 * size, 0.3 * size)


def _dark_twice(x: float, y: float, size: float) -> bytes:
    """Filled by the rule under which twice is not bare."""
    one = b"%f %f 300 %f re\n" % (x - 1, y - 0.8 * size, 0.9 * size)
    return b"0.1 0.1 0.1 rg\n" + one + one + b"f"


def _dark_but_turned(x: float, y: float, size: float) -> bytes:
    """A dark field with a hole on its corner: it reaches as far as the field, and is half as open."""
    half, across, up = 0.45 * size, x + 0.6 * size, y - 0.35 * size
    field = b"%f %f %f %f re\n" % (across - half, up - half, 2 * half, 2 * half)
    turned = b"%f %f m\n%f %f l\n" % (across - half, up, across, up - half)
    turned += b"%f %f l\n%f %f l\nh\n" % (across + half, up, across, up + half)
    return b"0.1 0.1 0.1 rg\n" + field + turned + b"f*"


def _feet_cut(x: float, y: float, size: float) -> bytes:
    """Seen from a little above the line: decimal points are not."""
    return b"%f %f 900 %f re\nW\nn" % (x - 9, y - 2 * size, 1.85 * size)


def _through_a_turned_hole(x: float, y: float, size: float) -> bytes:
    """Seen through a square on its corner, which reaches further than it is open."""
    turned = b"0.7 0.7 -0.7 0.7 %f %f cm\n-40 -40 80 80 re\nW\nn\n" % (x - 50, y - size / 3)
    back = b"0.714286 -0.714286 0.714286 0.714286 0 0 cm\n1 0 0 1 %f %f cm" % (50 - x, size / 3 - y)
    return turned + back


def _place_first(told: bytes) -> bytes:
    """ISO 32000-1, 9.4.1: where the text begins, the place told before is forgotten."""
    place = re.search(rb"1 0 0 -1 \S+ \S+ Tm\n", told)
    assert place
    return place[0] + told.replace(place[0], b"")


def _size_kept(told: bytes) -> bytes:
    """ISO 32000-1, 8.4.2: the size comes back with the state, here the one too small to be seen."""
    font = re.search(rb"(/\S+) (\S+) Tf\n", told)
    assert font
    return b"%s 0.01 Tf\nq\n%s %s Tf\nQ\n" % (font[1], font[1], font[2]) + told.replace(font[0], b"")


def _without_a_place(told: bytes) -> bytes:
    return re.sub(rb"1 0 0 -1 \S+ \S+ Tm\n", b"", told)


def _moved_within(told: bytes) -> bytes:
    return told.replace(b"\n1 0 0 -1", b"\n1 0 0 1 0 -300 cm\n1 0 0 -1").replace(b"\nET", b"\n1 0 0 1 0 300 cm\nET")


def _over_by_size(pdf: pikepdf.Pdf) -> None:
    content = pdf.pages[0].Contents
    data = content.read_bytes()
    found = list(re.finditer(_RUN, data))[40]
    content.write(data[: found.start(3)] + b"24" + data[found.end(3) :])


def _line_more(x: float, y: float, size: float) -> bytes:
    """A digit made another by a thin dark line: no word of the page is touched."""
    return b"0.1 0.1 0.1 RG\n1 w\n%f %f m\n%f %f l\nS" % (x, y, x + size / 2, y - size / 2)


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


def _title_apart(pdf: pikepdf.Pdf) -> None:
    old = str(pdf.docinfo["/Title"])
    new = old.replace(" ", "   ")
    pdf.docinfo["/Title"] = new
    pdf.Root.Metadata.write(pdf.Root.Metadata.read_bytes().replace(old.encode(), new.encode()))


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


def _bookmark_apart(pdf: pikepdf.Pdf) -> None:
    """A line end in each blank, and a blank within the first word."""
    told = str(pdf.Root.Outlines.First.Title)
    pdf.Root.Outlines.First.Title = f"{told[:2]} {told[2:]}".replace(" ", "\n\n")


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
    _told("drawn: every letter without a width", _no_widths, "wider or less wide"),
    _told("drawn: letters flat as a line", _matrix_told(b"25 0 0 -0.04"), "out of shape"),
    _told("drawn: letters mirrored", _matrix_told(b"1 0 0 1"), "mirrored"),
    _told("drawn: the end of a value painted over", _over_a_run(_end_painted), "painted over text"),
    _told("drawn: a white line over a value", _over_a_run(_white_line), "painted over text"),
    _told("drawn: a line made thick after it was told", _over_a_run(_line_made_thick), "thicker"),
    _told("drawn: dark letters on a dark ground", _first(_DARK), "dark ground"),
    _told("drawn: seen through two corners only", _first(_CORNERS), "cut off"),
    _told("drawn: on pages of five metres", _wide_pages, "another size"),
    _told("drawn: two words in each other's place", _places_changed, "in another order than they are read"),
    _told("drawn: a decimal point painted over", _over_a_run(_point_painted), "painted over text"),
    _told("drawn: a decimal comma made a point", _over_a_run(_tail_painted), "painted over text"),
    _told("drawn: a 7 made a 1", _over_a_run(_head_painted), "painted over text"),
    _told("drawn: a curve that swings over a value", _over_a_run(_curve), "painted over text"),
    _told("drawn: a line by a flat pen", _over_a_run(_flat_pen), "thicker"),
    _told("drawn: a corner with a long point", _over_a_run(_spike), "thicker"),
    _told("drawn: the end of a value on a dark ground", _before_a_run(_dark_end), "dark ground"),
    _told("drawn: a figure with a bar more", _before_a_run(_bar_made), "dark ground"),
    _told("drawn: dark, told twice", _before_a_run(_dark_twice), "dark ground"),
    _told("drawn: a dark field with a turned hole", _before_a_run(_dark_but_turned), "dark ground"),
    _told("drawn: feet of letters cut off", _before_a_run(_feet_cut), "cut off"),
    _told("drawn: seen through a turned hole", _before_a_run(_through_a_turned_hole), "cut off"),
    _told("drawn: seen through nothing", _before_a_run(lambda *_: b"W\nn"), "cut off"),
    _told("drawn: white, then no colour", _before_a_run(lambda *_: b"1 1 1 rg\n rg"), "never is"),
    _told("drawn: a colour of one part", _before_a_run(lambda *_: b"1 1 1 rg\n0 rg"), "never is"),
    _told("drawn: placed before the text begins", _object_told(_place_first), "never is"),
    _told("drawn: sized before the text begins", _object_told(_size_kept), "never is"),
    _told("drawn: words without a place", _object_told(_without_a_place), "never is"),
    _told("drawn: moved within the text", _object_told(_moved_within), "never is"),
    _told("drawn: letters in no ink", _object_told(lambda told: told.replace(b"BT\n", b"BT\n3 Tr\n")), "not seen"),
    _told("drawn: letters over others by another size", _over_by_size, "over each other"),
    _told("drawn: a digit made another by a line", _over_a_run(_line_more), "drawn over text"),
    _told("drawn: a digit made another before it is drawn", _before_a_run(_line_more), "drawn over text"),
    _told("told: metadata of its own", _catalogued, "metadata say something else"),
    _told("told: keywords", _keywords, "says more of itself"),
    Attack("told: another title above the page", redone(_titled), "nothing else printed", "as its title"),
    Attack("told: a title with blanks in it", redone(_title_apart), "nothing else printed", "as its title"),
    Attack("told: a bookmark set apart", redone(_bookmark_apart), "nothing else printed", "not the headings"),
    Attack("told: another language", redone(_language), "nothing else printed", "as its language, 'fr'"),
    _told("told: another text read aloud", _spoken("/ActualText"), "/ActualText"),
    _told("told: a description read aloud", _spoken("/Alt"), "as other words"),
    _told("told: cells that are not read", _roles, "/RoleMap"),
    _told("told: a second content of the evidence", _second_content, "/Unix"),
    _told("told: a second name of the evidence", _second_name, "second name"),
    _told("told: another description of the evidence", _described, "described otherwise"),
    _told("told: evidence kept elsewhere", _kept_elsewhere, "the content of evidence.json holds /F"),
    Attack("told: a form of another kind", redone(_form_of_another_kind), "seal", "/XFA"),
    _told("told: a bookmark with a result", _bookmark, "a bookmark says"),
    _told("told: how a reader shows it", _opened, "how a reader shows it"),
    _told("told: a named place", _named_place, "/Dests"),
)
