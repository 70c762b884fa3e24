"""Pages that are read otherwise by an eye or by another reader: beside, under and between words, every word kept.

Sealed with the laboratory's own key. What one reader mends and another does not, what stands so close to a value that
it is read with it, what lies elsewhere in the tree of pages. Common practice, no source.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any, Final

import pikepdf
from tests.attacks.forged_drawn import _RUN
from tests.attacks.forged_inside import redone
from tests.attacks.forged_outside import Attack

from benchseal.certificate.page_text import MAPPED

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.attacks.forging import Forger

_HIDING: Final = b"endstream\nQ\nq\n1 1 1 rg\n60 300 400 300 re\nf\n"


def drawn(change: Callable[[bytes], bytes], page: int = 0) -> Callable[[pikepdf.Pdf], None]:
    """What writes a page's drawing anew, changed."""

    def make(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[page].Contents
        before = content.read_bytes()
        content.write(change(before))
        assert content.read_bytes() != before

    return make


# ------------------------------------------------------------------ files that readers mend in different ways


def _plain(forger: Forger, change: Callable[[pikepdf.Pdf], None] = lambda _: None) -> bytes:
    """The rendered file with every object and the first page's drawing in plain sight."""
    with pikepdf.open(io.BytesIO(forger.one.raw)) as pdf:
        change(pdf)
        out = io.BytesIO()
        level = pikepdf.StreamDecodeLevel.none
        content = pdf.pages[0].Contents
        content.write(content.read_bytes())
        pdf.save(
            out,
            deterministic_id=True,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            compress_streams=False,
            stream_decode_level=level,
        )
        return out.getvalue()


def _places_told(data: bytes) -> bytes:
    """The same file with a new list of the places of its objects."""
    body = data[: data.rindex(b"\nxref\n") + 1]
    trailer = data[data.rindex(b"trailer") : data.rindex(b"startxref")]
    places = {int(found[1]): found.start() for found in re.finditer(rb"(?m)^(\d+) 0 obj\b", body)}
    rows = b"".join(b"%010d 00000 n \n" % places[at] for at in range(1, max(places) + 1))
    table = b"xref\n0 %d\n0000000000 65535 f \n" % (max(places) + 1) + rows
    return body + table + trailer + b"startxref\n%d\n%%%%EOF\n" % len(body)


def _longer_than_told(forger: Forger) -> bytes:
    """One reader ends the drawing at its first end, another where its length says."""
    data = _plain(forger)
    with pikepdf.open(io.BytesIO(forger.one.raw)) as pdf:
        drawing = pdf.pages[0].Contents.read_bytes()
    start = data.index(drawing)
    data = data[: start + len(drawing)] + _HIDING + data[start + len(drawing) :]
    place = data.rindex(b"/Length ", 0, start)
    told = re.match(rb"/Length (\d+)", data[place : place + 30])
    assert told
    longer = b"/Length %d" % (int(told[1]) + 10)
    return forger.sealed_otherwise(_places_told(data[:place] + longer + data[place + len(told[0]) :]))


def _second_end(forger: Forger) -> bytes:
    """A length that is right, over a font that holds the word at which a mending reader ends it."""

    def more(pdf: pikepdf.Pdf) -> None:
        about = next(iter(pdf.pages[0].Resources.Font.values())).DescendantFonts[0].FontDescriptor
        data = about.FontFile2.read_bytes() + b"\nendstream\n"
        about.FontFile2 = pdf.make_stream(data, Length1=len(data))

    return forger.sealed_otherwise(_plain(forger, more))


def _drawing_twice(forger: Forger) -> bytes:
    """A key told twice: one reader takes the first, another the last."""

    def more(pdf: pikepdf.Pdf) -> None:
        pdf.pages[1].obj["/Zzzzzzzz"] = pdf.make_stream(b"1 0 0 rg\n0 0 300 300 re\nf")

    data = _plain(forger, more)
    found = re.search(rb"/Zzzzzzzz (\d+ 0 R)", data)
    assert found
    start, end = data.rindex(b" obj", 0, found.start()), data.index(b"endobj", found.end())
    page = data[start:end]
    twice = page.replace(found[0], b"").replace(b"/Contents ", b"/Contents " + found[1] + b" /Contents ")
    return forger.sealed_otherwise(_places_told(data[:start] + twice + data[end:]))


def _counted(count: bytes) -> Callable[[Forger], bytes]:
    def make(forger: Forger) -> bytes:
        data = _plain(forger)
        told = re.search(rb"/Count (\d) /Kids", data)
        assert told
        return forger.sealed_otherwise(data[: told.start(1)] + count + data[told.end(1) :])

    return make


# ------------------------------------------------------------------ the tree of pages


def _leaf_with_leaves(pdf: pikepdf.Pdf) -> None:
    """A node that is a page too, with a drawing of its own."""
    pages = [page.obj for page in pdf.pages]
    top = pdf.Root.Pages
    told: dict[str, Any] = {name: pages[0][name] for name in ("/MediaBox", "/Resources")}
    drawing = pdf.make_stream(b"1 0 0 rg\n0 0 300 300 re\nf")
    own = {"/Type": pikepdf.Name.Page, "/Kids": [pages[0]], "/Count": 1, "/Parent": top, "/Contents": drawing, **told}
    node = pdf.make_indirect(pikepdf.Dictionary(own))
    pages[0].Parent = node
    top.Kids = pikepdf.Array([node, *pages[1:]])


def _node_between(pdf: pikepdf.Pdf) -> None:
    pages = [page.obj for page in pdf.pages]
    top = pdf.Root.Pages
    own = {"/Type": pikepdf.Name.Pages, "/Kids": pages, "/Count": len(pages), "/Parent": top, "/UserUnit": 2}
    node = pdf.make_indirect(pikepdf.Dictionary(own))
    for page in pages:
        page.Parent = node
    top.Kids = pikepdf.Array([node])


def _parent_elsewhere(pdf: pikepdf.Pdf) -> None:
    """From the leaf upwards stands another tree, which turns it."""
    own = {"/Type": pikepdf.Name.Pages, "/Count": 2, "/Kids": list(pdf.Root.Pages.Kids), "/Rotate": 180}
    aside = pdf.make_indirect(pikepdf.Dictionary(own))
    for page in pdf.pages:
        page.obj.Parent = aside


# ------------------------------------------------------------------ instructions that readers take differently


def _after_a_run(told: Callable[[float, float, float], bytes]) -> Callable[[pikepdf.Pdf], None]:
    def change(data: bytes) -> bytes:
        found = list(re.finditer(_RUN, data))[40]
        end = data.index(b"\n", found.end() - 1) if data[found.end() - 1 : found.end()] != b"T" else found.end()
        x, y, size = map(float, found.groups()[:3])
        return data[:end] + b"\nq\n" + told(x, y, size) + b"\nQ" + data[end:]

    return drawn(change)


def _moved_before_painting(x: float, y: float, size: float) -> bytes:
    return b"1 1 1 rg\n0 0 60 %f re\n1 0 0 1 %f %f cm\nf" % (size, x, y - size)


def _coloured_before_painting(x: float, y: float, size: float) -> bytes:
    return b"0.99 0.99 0.99 rg\n%f %f 9 9 re\n1 1 1 rg\nf" % (x + 300 * size, y)


def _very_large(x: float, y: float, size: float) -> bytes:
    return b"1 1 1 rg\n1 0 0 1 %f %f cm\n4294967296 4294967296 60 %f re\nf" % (x, y - size, size)


def _in_steps(x: float, y: float, size: float) -> bytes:  # noqa: ARG001  of every such function
    return b"\n".join([b"1 0 0 1 90000 0 cm"] * 9)


def _pen_below_nothing(x: float, y: float, size: float) -> bytes:
    return b"1 1 1 RG\n-14 w\n%f %f m\n%f %f l\nS" % (x, y - size / 3, x + 60, y - size / 3)


# ------------------------------------------------------------------ values read otherwise


def _codes(pdf: pikepdf.Pdf) -> dict[bytes, dict[str, bytes]]:
    """Of each font, the code of each character."""
    return {
        name[1:].encode(): {
            bytes.fromhex(text.decode()).decode("utf-16-be"): code.lower()
            for code, text in MAPPED.findall(font.ToUnicode.read_bytes())
        }
        for name, font in pdf.pages[0].Resources.Font.items()
    }


def _value(form: str, told: Callable[[dict[str, bytes], re.Match[bytes]], bytes]) -> Callable[[pikepdf.Pdf], None]:
    """The first run of the page that reads as ``form``, a regular expression, told otherwise."""

    def make(pdf: pikepdf.Pdf) -> None:
        fonts = _codes(pdf)
        content = pdf.pages[0].Contents
        data = content.read_bytes()
        runs = rb"BT\n1 0 0 -1 (\S+) (\S+) Tm\n/(\S+) (\S+) Tf\n(\[.*\]) TJ\nET\n"
        for found in re.finditer(runs, data):
            codes = fonts[found[3]]
            by_code = {code: character for character, code in codes.items()}
            row = "".join(re.findall(r"<([0-9a-f]+)>", found[5].decode()))
            text = "".join(by_code[row[at : at + 4].encode()] for at in range(0, len(row), 4))
            if re.fullmatch(form, text):
                content.write(data[: found.start()] + told(codes, found) + data[found.end() :])
                return
        raise AssertionError(form)

    return make


_POINT: Final = r"\d+\.\d+ .*"


def _set(codes: dict[str, bytes], text: str) -> bytes:
    return b"[" + b"".join(b"<" + codes[one] + b">0" for one in text) + b"]"


def _text(found: re.Match[bytes], codes: dict[str, bytes]) -> str:
    by_code = {code: character for character, code in codes.items()}
    row = b"".join(re.findall(rb"<([0-9a-f]+)>", found[5]))
    return "".join(by_code[row[at : at + 4]] for at in range(0, len(row), 4))


def _run(x: float, y: float, font: bytes, size: float, letters: bytes) -> bytes:
    return b"BT\n1 0 0 -1 %f %f Tm\n/%s %f Tf\n%s TJ\nET\n" % (x, y, font, size, letters)


def _point_hidden(codes: dict[str, bytes], found: re.Match[bytes]) -> bytes:
    """The figure after the point is drawn back over it, by less than kerning could be."""
    row = re.sub(rb"<" + codes["."] + rb">0", rb"<" + codes["."] + rb">180", _set(codes, _text(found, codes)), count=1)
    return found[0].replace(found[5], row)


def _blank_drawn_back(codes: dict[str, bytes], found: re.Match[bytes]) -> bytes:
    row = _set(codes, _text(found, codes)).replace(b"<" + codes[" "] + b">0", b"<" + codes[" "] + b">190", 1)
    return found[0].replace(found[5], row)


def _pieces(lower: float, share: float, ink: bytes) -> Callable[[dict[str, bytes], re.Match[bytes]], bytes]:
    """The point of a value as a run of its own. lower: of the height; share: of its size; ink: operands."""

    def told(codes: dict[str, bytes], found: re.Match[bytes]) -> bytes:
        x, y, size = float(found[1]), float(found[2]), float(found[4])
        whole, after = _text(found, codes).split(".", 1)
        width = 0.5 * size * len(whole)
        point = b"q\n" + ink + b" rg\n" if ink else b"q\n"
        point += _run(x + width, y + lower * size, found[3], share * size, _set(codes, ".")) + b"Q\n"
        first = _run(x, y, found[3], size, _set(codes, whole))
        return first + point + _run(x + width + 0.26 * size, y, found[3], size, _set(codes, after))

    return told


def _clipped_twice(codes: dict[str, bytes], found: re.Match[bytes]) -> bytes:
    """The point as a run of its own within two clips: each holds it but for less than a point, both leave nothing."""
    x, y, size = float(found[1]), float(found[2]), float(found[4])
    whole, after = _text(found, codes).split(".", 1)
    left = x + 0.5 * size * len(whole)
    right = left + 0.26 * size
    upper, lower = y - 3 * size, 6 * size
    clips = b"".join(
        b"%f %f %f %f re\nW\nn\n" % (begin, upper, end - begin, lower)
        for begin, end in ((left - 20, right - 1.3), (left + 1.3, right + 20))
    )
    point = b"q\n" + clips + _run(left, y, found[3], size, _set(codes, ".")) + b"Q\n"
    first = _run(x, y, found[3], size, _set(codes, whole))
    return first + point + _run(right, y, found[3], size, _set(codes, after))


def _mark(left: float, up: float, width: float, height: float) -> Callable[[dict[str, bytes], re.Match[bytes]], bytes]:
    """A dark mark drawn before a value. All as a share of the letters' height, from its place."""

    def told(_: dict[str, bytes], found: re.Match[bytes]) -> bytes:
        x, y, size = float(found[1]), float(found[2]), float(found[4])
        box = (x + left * size, y - up * size, width * size, height * size)
        return b"q\n0.1 0.1 0.1 rg\n%f %f %f %f re\nf\nQ\n" % box + found[0]

    return told


def _dark_line(codes: dict[str, bytes], found: re.Match[bytes]) -> bytes:  # noqa: ARG001  of every such function
    """A minus before a value."""
    x, y, size = float(found[1]), float(found[2]), float(found[4])
    line = (x - 0.4 * size, y - 0.33 * size, x - 0.1 * size, y - 0.33 * size)
    return b"q\n0.1 0.1 0.1 RG\n0.5 w\n%f %f m\n%f %f l\nS\nQ\n" % line + found[0]


def _letter_of_a_figure(pdf: pikepdf.Pdf) -> None:
    """A letter of a figure stands beside a value, in a figure without letters; what cuts that one comes after it."""
    last = pdf.pages[len(pdf.pages) - 1].Contents
    data = last.read_bytes()
    taken = next(re.finditer(rb"1 0 0 -1 \S+ \S+ Tm\n\[<[0-9a-f]{4}>0\] TJ\n", data))
    assert data.rindex(b"/Figure\n", 0, taken.start()) > data.rindex(b"/Span\n", 0, taken.start())
    last.write(data[: taken.start()] + data[taken.end() :])
    content = pdf.pages[0].Contents
    first = content.read_bytes()
    value = list(re.finditer(_RUN, first))[40]
    font = re.findall(rb"/(\S+) \S+ Tf", first[: value.end()])[-1]
    x, y, size = map(float, value.groups()[:3])
    cut = list(re.finditer(rb"(\S+ \S+ \S+ \S+ re\nW\nn\n)(/Figure\n<</MCID \d+>>\nBDC\n)", first))[-1]
    letters = taken[0].split(b"\n")[1].removesuffix(b" TJ")
    ink = b"0.109804 0.113725 0.121569 rg\n"
    told = cut[2] + ink + _run(x - 0.6 * size, y, font, size, letters) + cut[1]
    content.write(first[: cut.start()] + told + first[cut.end() :])


def _figures_exchanged(pdf: pikepdf.Pdf) -> None:
    """Two letters of different figures in each other's place."""
    for page in pdf.pages:
        data = page.Contents.read_bytes()
        figures = [found.start() for found in re.finditer(rb"(?m)^/Figure$", data)]
        rows = [list(re.finditer(rb"\[(<[0-9a-f]{4}>0)+\] TJ", data[at:to])) for at, to in zip(figures, figures[1:])]  # noqa: B905, RUF007
        rows = [row for row in rows if row]
        kept = [at for at, to in zip(figures, figures[1:]) if re.search(rb"\[(<[0-9a-f]{4}>0)+\] TJ", data[at:to])]  # noqa: B905, RUF007
        pairs = [
            (kept[0] + one.start(), one[0], kept[1] + two.start(), two[0])
            for one in (rows[0] if len(rows) > 1 else ())
            for two in rows[1]
            if one[0] != two[0] and len(one[0]) == len(two[0])
        ]
        if pairs:
            at, one_told, to, two_told = pairs[0]
            data = data[:at] + two_told + data[at + len(one_told) :]
            page.Contents.write(data[:to] + one_told + data[to + len(two_told) :])
            return
    raise AssertionError


# ------------------------------------------------------------------ margins and fonts


def _margin(words: str) -> Callable[[pikepdf.Pdf], None]:
    """Other words around the number of the page. words: with a place for it."""

    def make(pdf: pikepdf.Pdf) -> None:
        codes = _codes(pdf)
        for number, page in enumerate(pdf.pages, start=1):
            data = page.Contents.read_bytes()
            found = list(re.finditer(rb"/(\S+) \S+ Tf\n(\[.*\]) TJ\nET", data))[-1]
            told = _set(codes[found[1]], words.format(number))
            page.Contents.write(data[: found.start(2)] + told + data[found.end(2) :])

    return make


def _part_aside(pdf: pikepdf.Pdf) -> None:
    """OpenType 1.9, glyf: a part lends its place to the letter. Moved are all that stand for nothing alone."""
    for font in pdf.pages[0].Resources.Font.values():
        about = font.DescendantFonts[0].FontDescriptor
        data = bytearray(about.FontFile2.read_bytes())
        rows = {bytes(data[at : at + 4]): at for at in range(12, 12 + 16 * int.from_bytes(data[4:6], "big"), 16)}
        places = {name: int.from_bytes(data[at + 8 : at + 12], "big") for name, at in rows.items()}
        full = int.from_bytes(data[places[b"hhea"] + 34 : places[b"hhea"] + 36], "big")
        told = {int(code, 16) for code, _ in MAPPED.findall(font.ToUnicode.read_bytes())}
        for letter in range(1, full):
            at = places[b"hmtx"] + 4 * letter + 2
            if letter not in told:
                data[at : at + 2] = ((int.from_bytes(data[at : at + 2], "big") - 900) % 65536).to_bytes(2, "big")
        about.FontFile2 = pdf.make_stream(bytes(data), Length1=len(data))


def _descriptor(name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    def make(pdf: pikepdf.Pdf) -> None:
        for font in pdf.pages[0].Resources.Font.values():
            about = font.DescendantFonts[0].FontDescriptor
            if value is None:
                del about[name]
            else:
                about[name] = value

    return make


def _codes_of_another_script(pdf: pikepdf.Pdf) -> None:
    for font in pdf.pages[0].Resources.Font.values():
        font.DescendantFonts[0].CIDSystemInfo.Ordering = pikepdf.String("Japan1")


def _told(name: str, change: Callable[[pikepdf.Pdf], None], words: str, check: str = "page form") -> Attack:
    return Attack(name, redone(change), check, words)


_LARGE: Final = "which a certificate never is"
_ALIKE: Final = "every reader takes alike"
_UNEVEN: Final = "higher, lower or smaller"

BESIDE: Final = (
    Attack("mended: a drawing longer than it says", _longer_than_told, "page form", _ALIKE),
    Attack("mended: a second end within a stream", _second_end, "page form", _ALIKE),
    Attack("mended: a drawing told twice", _drawing_twice, "page form", _ALIKE),
    Attack("tree: one page counted", _counted(b"1"), "page form", "counted or told otherwise"),
    Attack("tree: nine pages counted", _counted(b"9"), "page form", "counted or told otherwise"),
    _told("tree: a page that holds pages", _leaf_with_leaves, "the one list of pages"),
    _told("tree: a node between", _node_between, "the one list of pages"),
    _told("tree: pages under another tree", _parent_elsewhere, "the one list of pages"),
    _told("painted: moved between path and paint", _after_a_run(_moved_before_painting), _LARGE),
    _told("painted: coloured between path and paint", _after_a_run(_coloured_before_painting), _LARGE),
    _told("painted: numbers beyond those readers hold", _after_a_run(_very_large), _LARGE),
    _told("painted: carried off in large steps", _after_a_run(_in_steps), "far outside the page"),
    _told("painted: a pen narrower than nothing", _after_a_run(_pen_below_nothing), _LARGE),
    _told("value: its point hidden behind a figure", _value(_POINT, _point_hidden), "over each other"),
    _told("value: a figure drawn back over a blank", _value(_POINT, _blank_drawn_back), "over each other"),
    _told("value: its point set lower", _value(_POINT, _pieces(0.45, 1, b"")), _UNEVEN),
    _told("value: its point small", _value(_POINT, _pieces(0, 0.5, b"")), _UNEVEN),
    _told("value: its point pale", _value(_POINT, _pieces(0, 1, b"0.6 0.6 0.6")), "two inks"),
    _told("value: its point between two clips", _value(_POINT, _clipped_twice), "where it is cut off"),
    _told("value: a point more", _value(_POINT, _mark(0.45, 0.1, 0.1, 0.1)), "dark ground"),
    _told("value: a point before it", _value(_POINT, _mark(-0.2, 0.1, 0.1, 0.1)), "dark mark"),
    _told("value: a bar under it", _value(_POINT, _mark(0, 0.06, 0.5, 0.06)), "dark mark"),
    _told("value: a bar over it", _value(_POINT, _mark(0, 0.85, 0.5, 0.06)), "dark mark"),
    _told("value: a minus before it", _value(_POINT, _dark_line), "line is drawn over text"),
    _told("figure: one of its letters beside a value", _letter_of_a_figure, "among words outside"),
    _told("figure: letters of two exchanged", _figures_exchanged, "figures hold other letters", "nothing else printed"),
    _told("margin: void", _margin("void {} invalid 2"), "does not end with", "nothing else printed"),
    _told("margin: another number", _margin("page {} of 9"), "does not end with", "nothing else printed"),
    _told("letters: a part lends another place", _part_aside, "drawn otherwise"),
    _told("letters: named as another font", _descriptor("/FontName", pikepdf.Name.Symbol), "named or described"),
    _told("letters: of no name", _descriptor("/FontName", None), "named or described"),
    _told("letters: said to be of the usual codes", _descriptor("/Flags", 32), "named or described"),
    _told("letters: codes of another script", _codes_of_another_script, "named or described"),
)
