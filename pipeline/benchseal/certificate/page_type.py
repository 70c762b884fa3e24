"""The letters of a file are those of the shipped type: what a code is drawn as, is the character it stands for.

The words of a page are read by the map from codes to characters that comes with each font of the file; what is seen is
the outline under the code. So each outline is held to the shipped type's under the same number, and each character to
those the shipped type draws so. Outlines are compared as points, since programs that cut a font down write the same
outline in several ways. Source: OpenType 1.9, head, hmtx, maxp, loca and glyf.
"""

from __future__ import annotations

import logging
import re
import struct
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

from benchseal import shipped
from benchseal.certificate.page_resources import all_resources
from benchseal.certificate.page_text import MAPPED, bare
from benchseal.certificate.type_letters import LETTERS, MORE
from benchseal.certificate.type_tables import tables_fit

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    import pikepdf

_FILES: Final = ("fonts/SourceSans3-Regular.ttf", "fonts/SourceSans3-SemiBold.ttf")
_NOT_READ: Final = (ValueError, IndexError, KeyError, AttributeError, TypeError, AssertionError, struct.error)
_OF_PARTS: Final = b"\xff\xff"
# Contours, where the outline begins, points, and instructions that could move points.
_OF_A_LETTER: Final = ("numberOfContours", "xMin", "coordinates", "endPtsOfContours", "flags", "program")
_NO_LETTER: Final = "\n"
_FONT: Final = frozenset({"/BaseFont", "/DescendantFonts", "/Encoding", "/Subtype", "/ToUnicode", "/Type"})
_BELOW: Final = frozenset({
    "/BaseFont", "/CIDSystemInfo", "/CIDToGIDMap", "/FontDescriptor", "/Subtype", "/Type", "/W",
})  # fmt: skip
_DESCRIPTOR: Final = frozenset({
    "/Ascent", "/CapHeight", "/Descent", "/Flags", "/FontBBox", "/FontFamily", "/FontFile2", "/FontName",
    "/ItalicAngle", "/StemH", "/StemV", "/Type",
})  # fmt: skip
_CODES: Final = {"/Ordering": "Identity", "/Registry": "Adobe", "/Supplement": "0"}
_SYMBOLIC: Final = 4  # ISO 32000-1, table 123: its codes are those of no other font
_MEASURES: Final = {
    "/Ascent": 1024.0, "/CapHeight": 1024.0, "/Descent": -400.0, "/ItalicAngle": 0.0, "/StemH": 80.0, "/StemV": 80.0,
}  # fmt: skip
_FAMILY: Final = "Certificate"  # as style sheets call the type, and what the renderer makes of that
_NAMES: Final = ("/BPUFHP+Certificate", "/ZHJJQI+Certificate-Semi-Bold")
_TALLEST: Final = 10_000.0  # thousandths of the letters' height
_PROGRAM: Final = frozenset({"/Filter", "/Length", "/Length1"})
_KINDS: Final = ("/Type0", "/Identity-H", "/CIDFontType2")
# The map from codes to characters: one line for each code, between lines that say nothing of any.
_MAP: Final = re.compile(
    rb"/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo\n<< /Registry \(Adobe\)\n"
    rb"/Ordering \(UCS\)\n/Supplement 0\n>> def\n/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
    rb"1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n"
    rb"(?:[0-9]+ beginbfchar\n(?:<[0-9a-f]{4}> <(?:[0-9a-f]{4})+>\n)+endbfchar\n)+"
    rb"endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
)
_SHORT: Final = 2  # bytes of a place in halves
_NOTHING: Final = (0, 0)  # where a letter was left out
_STEPS: Final = {b"\0\0": _SHORT, b"\0\1": 4}
_VERSION: Final = b"\0\1\0\0"  # outlines of glyf; where it is another, readers take those of another table
# What the renderer leaves of the shipped type. None of them says how points of an outline are moved.
_TABLES: Final = frozenset({
    "GDEF", "OS/2", "STAT", "cmap", "gasp", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "name", "post",
})  # fmt: skip


class Type:
    """A font program with TrueType outlines, its letters by their numbers.

    Read by fontTools. Raises ValueError for what is none; ``written`` and ``letter`` raise IndexError, KeyError,
    AssertionError or struct.error for a letter that is none.
    """

    def __init__(self, data: bytes) -> None:
        from fontTools.ttLib import TTLibError  # noqa: PLC0415  heavy, and few commands look at a type
        from fontTools.ttLib.sfnt import SFNTReader  # noqa: PLC0415

        # What it leaves out it tells to a log, which would print it; each case is refused here.
        logging.getLogger("fontTools").addHandler(logging.NullHandler())
        if data[: len(_VERSION)] != _VERSION:
            raise ValueError("another kind of font")
        try:
            tables = SFNTReader(BytesIO(data), checkChecksums=0)
            head, hhea = tables["head"], tables["hhea"]
            (count,), (metrics,) = struct.unpack_from(">H", tables["maxp"], 4), struct.unpack_from(">H", hhea, 34)
            flags, units = struct.unpack_from(">HH", head, 16)
            places: bytes = tables["loca"]
            self._metrics: bytes = tables["hmtx"]
            self._written: bytes = tables["glyf"]
            step = _STEPS[head[50:52]]
        except (TTLibError, AssertionError, KeyError, struct.error) as error:
            raise ValueError("no font") from error
        self.tables = frozenset(tables.tables)
        if len(self.tables) != tables.numTables:  # readers differ in which they take
            raise ValueError("a table twice")
        told = len(places), len(self._metrics), 0 < metrics <= count
        if told != ((count + 1) * step, 2 * (count + metrics), True):
            raise ValueError("places or widths of more letters than there are, or fewer")
        each = struct.unpack(f">{count + 1}{'H' if step == _SHORT else 'I'}", places)
        self._places = [2 * place for place in each] if step == _SHORT else list(each)
        self._count, self._widths = count, metrics
        self._data = data
        self._entries = {name: (entry.offset, entry.length) for name, entry in tables.tables.items()}
        self.measures = (units, flags)

    def whole(self) -> dict[str, bytes]:
        """Bytes of each table."""
        return {name: self._data[at : at + length] for name, (at, length) in self._entries.items()}

    def fits(self, own: Type, told: Collection[int]) -> bool:
        """Whether its other tables are those of the type it is cut from, and it holds no letter beside those told.

        The parts of a letter may stand under numbers of their own; they are looked at with it.
        """
        used = set(told) | {0}
        waiting = list(used)
        while waiting:
            more = {int(part.glyphName) for part in self._parts(waiting.pop())} - used
            used |= more
            waiting += more
        return (
            self.tables == _TABLES
            and self._places == sorted(self._places)
            and (self._places[0], self._places[-1]) == (0, len(self._written))
            and tables_fit(self._data, self._entries, own.whole())
            and not any(self.written(number) for number in range(self._count) if number not in used)
            and all(
                self.stands(number) in {_NOTHING, own.stands(number)}
                for number in range(self._count)
                if number not in used
            )
        )

    def _parts(self, number: int) -> list[Any]:
        return self.letter(number).components if self.written(number).startswith(_OF_PARTS) else []

    def stands(self, number: int) -> tuple[int, int]:
        """How far the next letter stands from it, and where its outline begins."""
        if number >= self._count:
            raise IndexError(number)
        if number < self._widths:
            across, begins = struct.unpack_from(">Hh", self._metrics, 4 * number)
        else:  # as far as the last that says it
            (across,) = struct.unpack_from(">H", self._metrics, 4 * self._widths - 4)
            (begins,) = struct.unpack_from(">h", self._metrics, 2 * (self._widths + number))
        return across, begins

    def written(self, number: int) -> bytes:
        """Bytes of the description; none for an empty letter."""
        return self._described(number).rstrip(b"\0")

    def letter(self, number: int) -> Any:  # noqa: ANN401  fontTools has no types
        """The description, read."""
        from fontTools.ttLib.tables._g_l_y_f import Glyph  # noqa: PLC0415

        letter = Glyph(self._described(number))
        letter.expand(_NUMBERS)
        return letter

    def _described(self, number: int) -> bytes:
        return self._written[self._places[number] : self._places[number + 1]]


class _Numbers:
    """Letters by their numbers, for fontTools: the names of a file are not needed."""

    extended = False  # numbers are of two bytes

    def getGlyphName(self, number: int) -> str:  # noqa: N802  its name there
        """The number."""
        return str(number)


_NUMBERS: Final = _Numbers()


@cache
def _shipped() -> tuple[Type, ...]:
    return tuple(Type(shipped.template_bytes(name)) for name in _FILES)


def type_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Letters that are not drawn as the shipped type draws them, or stand for others, in plain sentences."""
    seen: set[tuple[int, int]] = set()
    named: list[str] = []
    for page in pdf.pages:
        for resources in all_resources(page.obj.Resources):
            for name, font in resources.get("/Font", {}).items():
                if font.objgen not in seen:
                    seen.add(font.objgen)
                    yield from (f"font {name[1:]}: {fault}" for fault in _font_faults(font))
                    named.append(str(font.get("/BaseFont")))
    if len(set(named)) != len(named):
        yield "a type is in it twice, and each reader may take another one."


def _font_faults(font: pikepdf.Object) -> Iterator[str]:
    try:
        (below,) = font.DescendantFonts
        data = below.FontDescriptor.FontFile2.read_bytes()
        drawn = Type(data)
        map_told = font.ToUnicode.read_bytes()
        mapped = MAPPED.findall(map_told)
        told = {int(code, 16): bytes.fromhex(text.decode("ascii")).decode("utf-16-be") for code, text in mapped}
        own = next((one for one in _shipped() if all(_alike(drawn, one, code) for code in told)), None)
        other = 0 if own else min(sum(not _alike(drawn, one, code) for code in told) for one in _shipped())
        kinds = tuple(map(str, (font.Subtype, font.Encoding, below.Subtype)))
        widths = list(_widths(below.W))
        fits = own is None or drawn.fits(own, told)
    except _NOT_READ:
        yield "its letters cannot be read."
        return
    for value, known in ((font, _FONT), (below, _BELOW), (below.FontDescriptor, _DESCRIPTOR)):
        more = sorted(set(value.keys()) - known)
        if more:
            yield f"it holds {', '.join(more)}, which that of a certificate never has."
    if not _told_right(font, below, len(data), own):
        yield "it is named or described otherwise than that of a certificate."
    if kinds != _KINDS:
        yield "its letters are told in another way than those of a certificate."
    of_program = tuple(_program_faults(drawn, other))
    yield from of_program
    if not (fits or of_program):
        yield "its program is built otherwise than that of a certificate, so that readers may draw nothing of it."
    if own and (
        [code for code, _ in widths if code] != sorted(set(told) - {0})
        or any(own.stands(at)[0] != width for at, width in widths)
    ):
        yield "its letters are said to be wider or less wide than they are."
    if not _MAP.fullmatch(map_told) or len(mapped) != len(told):
        yield "what its letters stand for is told otherwise than in a certificate, or twice."
    wrong = [text for code, text in told.items() if code and not _stands_for(code, text)]
    if wrong:
        yield f"what is drawn for {wrong[0]!r} is another letter."


def _told_right(font: pikepdf.Object, below: pikepdf.Object, size: int, own: Type | None) -> bool:
    """Whether a font is called by one name, and described so that no reader takes other letters or codes for it.

    size: bytes of its program. own: the shipped type it is cut from, None where that is not known.
    """
    about, names = below.FontDescriptor, (font.get("/BaseFont"), below.get("/BaseFont"))
    lacking = (_FONT - set(font.keys())) | (_BELOW - set(below.keys())) | (_DESCRIPTOR - set(about.keys()))
    program = about.FontFile2
    return (
        not lacking
        and {*map(str, names), str(about.FontName)} == {str(names[0])}
        and [*map(str, (font.Type, below.Type, about.Type))] == ["/Font", "/Font", "/FontDescriptor"]
        and {name: str(told) for name, told in dict(below.CIDSystemInfo).items()} == _CODES
        and int(about.Flags) == _SYMBOLIC
        and (own is None or str(about.FontName) == _NAMES[_shipped().index(own)])
        and str(about.FontFamily) == _FAMILY
        and all(float(about[name]) == due for name, due in _MEASURES.items())
        and all(abs(float(corner)) <= _TALLEST for corner in about.FontBBox)
        and set(program.keys()) <= _PROGRAM
        and int(program.Length1) == size
    )


def _program_faults(drawn: Type, other: int) -> Iterator[str]:
    more = sorted(name.strip() for name in drawn.tables - _TABLES)
    if more:
        yield f"its program holds {', '.join(more)}, which that of a certificate never has."
    if drawn.measures != _shipped()[0].measures:
        yield "its letters are measured otherwise than those of a certificate."
    if other:
        yield f"{other} of its letters are drawn otherwise than the type of a certificate draws them."


def _widths(rows: pikepdf.Object) -> Iterator[tuple[int, float]]:
    """Each code with its width. Raises ValueError or TypeError for another form than the renderer writes."""
    parts = list(rows)
    for first, row in zip(parts[::2], parts[1::2], strict=True):
        yield from ((int(first) + at, float(width)) for at, width in enumerate(list(row)))


def _alike(drawn: Type, own: Type, number: int) -> bool:
    """Whether a letter is drawn as the shipped one under its number. The one of no letter may be left empty."""
    if number == 0 and not drawn.written(0):
        return True
    return drawn.stands(number) == own.stands(number) and _same_points((drawn, number), (own, number))


def _same_points(drawn: tuple[Type, int], own: tuple[Type, int]) -> bool:
    """Whether two outlines are of the same points.

    Parts are held to those of the shipped letter one by one, under whatever number; so a letter of parts within parts
    that would be of millions of points is never put together.
    """
    there, here = (of.written(number) for of, number in (drawn, own))
    if there == here and not here.startswith(_OF_PARTS):
        return True
    if not there or not here:
        return False
    one, other = (of.letter(number) for of, number in (drawn, own))
    if any(getattr(one, name, None) != getattr(other, name, None) for name in _OF_A_LETTER):
        return False
    parts, known = getattr(one, "components", ()), getattr(other, "components", ())
    return [_placed(part) for part in parts] == [_placed(part) for part in known] and all(
        drawn[0].stands(int(part.glyphName)) == own[0].stands(int(mine.glyphName))  # a part may lend its own to all
        and _same_points((drawn[0], int(part.glyphName)), (own[0], int(mine.glyphName)))
        for part, mine in zip(parts, known, strict=True)
    )


def _placed(part: Any) -> dict[str, Any]:  # noqa: ANN401  fontTools has no types
    return {name: told for name, told in vars(part).items() if name != "glyphName"}


def _stands_for(number: int, text: str) -> bool:
    letter = LETTERS[number] if number < len(LETTERS) else _NO_LETTER
    known = (*(letter if letter != _NO_LETTER else ()), *MORE.get(number, ()))
    return text in known or bare(text) in {bare(one) for one in known if bare(one)}
