"""The letters of a file are those of the shipped type: what a code is drawn as, is the character it stands for.

The words of a page are read by the map from codes to characters that comes with each font of the file; what is seen is
the outline under the code. So each outline is held to the shipped type's under the same number, and each character to
those the shipped type draws so. Outlines are compared as points, since programs that cut a font down write the same
outline in several ways. Source: OpenType 1.9, head, maxp, loca and glyf (simple and composite descriptions).
"""

from __future__ import annotations

import re
import struct
from functools import cache
from typing import TYPE_CHECKING, Final, TypeAlias

from benchseal import shipped
from benchseal.certificate.page_resources import all_resources
from benchseal.certificate.page_text import MAPPED, bare
from benchseal.certificate.type_letters import LETTERS, MORE

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pikepdf

Point: TypeAlias = "tuple[float, float, bool]"  # x, y, on the curve
Outline: TypeAlias = "tuple[tuple[Point, ...], ...]"  # contour by contour

_FILES: Final = ("fonts/SourceSans3-Regular.ttf", "fonts/SourceSans3-SemiBold.ttf")
_UNITS: Final = 1000  # of the shipped type to its height
_DEEPEST: Final = 4
_NO_LETTER: Final = "\n"
_FONT: Final = frozenset({"/BaseFont", "/DescendantFonts", "/Encoding", "/Subtype", "/ToUnicode", "/Type"})
_BELOW: Final = frozenset({
    "/BaseFont", "/CIDSystemInfo", "/CIDToGIDMap", "/FontDescriptor", "/Subtype", "/Type", "/W",
})  # fmt: skip
_DESCRIPTOR: Final = frozenset({
    "/Ascent", "/CapHeight", "/Descent", "/Flags", "/FontBBox", "/FontFamily", "/FontFile2", "/FontName",
    "/ItalicAngle", "/StemH", "/StemV", "/Type",
})  # fmt: skip
_KINDS: Final = ("/Type0", "/Identity-H", "/CIDFontType2")
# The map from codes to characters: one line for each code, between lines that say nothing of any.
_MAP: Final = re.compile(
    rb"/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo\n<< /Registry \(Adobe\)\n"
    rb"/Ordering \(UCS\)\n/Supplement 0\n>> def\n/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
    rb"1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n"
    rb"(?:[0-9]+ beginbfchar\n(?:<[0-9a-f]{4}> <(?:[0-9a-f]{4})+>\n)+endbfchar\n)+"
    rb"endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
)
# Of a point: on the curve, x and y of one byte, repeated, x and y as before or of that sign.
_ON, _X_BYTE, _Y_BYTE, _REPEAT, _X_SAME, _Y_SAME = 1, 2, 4, 8, 16, 32
# Of a part: offsets of two bytes, offsets (not points), scaled once, more parts follow, twice, by a matrix.
_WORDS, _OFFSETS, _SCALE, _FOLLOWS, _SCALES, _MATRIX = 1, 2, 8, 32, 64, 128


class Type:
    """A font program with TrueType outlines. Raises ValueError, IndexError or struct.error for what is none."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        (count,) = struct.unpack_from(">H", data, 4)
        tables = (struct.unpack_from(">4sIII", data, 12 + 16 * at) for at in range(count))
        places = {name: (start, length) for name, _, start, length in tables}
        (self.units,) = struct.unpack_from(">H", data, places[b"head"][0] + 18)
        (long_form,) = struct.unpack_from(">h", data, places[b"head"][0] + 50)
        (self.count,) = struct.unpack_from(">H", data, places[b"maxp"][0] + 4)
        form = f">{self.count + 1}{'I' if long_form else 'H'}"
        told = struct.unpack_from(form, data, places[b"loca"][0])
        self._places = told if long_form else tuple(2 * at for at in told)
        self._start = places[b"glyf"][0]
        (self._steps,) = struct.unpack_from(">H", data, places[b"hhea"][0] + 34)
        self._advances = places[b"hmtx"][0]
        self._outlines: dict[int, Outline] = {}

    def glyph(self, number: int) -> bytes:
        """Bytes of the description; none for an empty glyph."""
        return self._data[self._start + self._places[number] : self._start + self._places[number + 1]]

    def advance(self, number: int) -> int:
        """How far the next letter stands from it."""
        at = self._advances + 4 * min(number, self._steps - 1)
        return int(struct.unpack_from(">H", self._data, at)[0])

    def outline(self, number: int, deep: int = 0) -> Outline:
        """Contours of a glyph, those of its parts put in place."""
        if number not in self._outlines:
            self._outlines[number] = self._made(self.glyph(number), deep)
        return self._outlines[number]

    def _made(self, data: bytes, deep: int) -> Outline:
        if not data:
            return ()
        (contours,) = struct.unpack_from(">h", data)
        return _simple(data, contours) if contours >= 0 else self._composite(data, deep)

    def _composite(self, data: bytes, deep: int) -> Outline:
        if deep >= _DEEPEST:
            raise ValueError("parts within parts")
        found: list[tuple[Point, ...]] = []
        at, follows = 10, True
        while follows:
            flags, number = struct.unpack_from(">HH", data, at)
            at += 4
            form = ">hh" if flags & _WORDS else ">bb"
            dx, dy = struct.unpack_from(form, data, at)
            at += struct.calcsize(form)
            if not flags & _OFFSETS:
                raise ValueError("a part placed by points")
            count = 1 if flags & _SCALE else 2 if flags & _SCALES else 4 if flags & _MATRIX else 0
            told = [one / 16384 for one in struct.unpack_from(f">{count}h", data, at)]
            at += 2 * count
            a, b, c, d = {0: (1, 0, 0, 1), 1: (*told, 0, 0, *told), 2: (*told[:1], 0, 0, *told[1:]), 4: told}[count]
            found += [
                tuple((a * x + c * y + dx, b * x + d * y + dy, on) for x, y, on in contour)
                for contour in self.outline(number, deep + 1)
            ]
            follows = bool(flags & _FOLLOWS)
        return tuple(found)


def _simple(data: bytes, contours: int) -> Outline:
    ends = struct.unpack_from(f">{contours}H", data, 10)
    at = 10 + 2 * contours
    (hints,) = struct.unpack_from(">H", data, at)
    at += 2 + hints
    count = ends[-1] + 1 if ends else 0
    flags: list[int] = []
    while len(flags) < count:
        flag = data[at]
        again = data[at + 1] if flag & _REPEAT else 0
        flags += [flag] * (again + 1)
        at += 2 if flag & _REPEAT else 1
    across, at = _offsets(data, at, flags, _X_BYTE, _X_SAME)
    up, _ = _offsets(data, at, flags, _Y_BYTE, _Y_SAME)
    points = [(x, y, bool(flag & _ON)) for x, y, flag in zip(across, up, flags, strict=True)]
    begins = (0, *(end + 1 for end in ends[:-1]))
    return tuple(tuple(points[begin : end + 1]) for begin, end in zip(begins, ends, strict=True))


def _offsets(data: bytes, at: int, flags: list[int], one_byte: int, same: int) -> tuple[list[int], int]:
    """Places along one axis, each told by its distance from the one before; and where the next axis begins."""
    place, found = 0, []
    for flag in flags:
        if flag & one_byte:
            place += data[at] if flag & same else -data[at]
            at += 1
        elif not flag & same:
            (step,) = struct.unpack_from(">h", data, at)
            place += step
            at += 2
        found.append(place)
    return found, at


@cache
def _shipped() -> tuple[Type, ...]:
    return tuple(Type(shipped.template_bytes(name)) for name in _FILES)


def type_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Letters that are not drawn as the shipped type draws them, or stand for others, in plain sentences."""
    seen: set[tuple[int, int]] = set()
    for page in pdf.pages:
        for resources in all_resources(page.obj.Resources):
            for name, font in resources.get("/Font", {}).items():
                if font.objgen not in seen:
                    seen.add(font.objgen)
                    yield from (f"font {name[1:]}: {fault}" for fault in _font_faults(font))


def _font_faults(font: pikepdf.Object) -> Iterator[str]:
    try:
        (below,) = font.DescendantFonts
        drawn = Type(below.FontDescriptor.FontFile2.read_bytes())
        map_told = font.ToUnicode.read_bytes()
        mapped = MAPPED.findall(map_told)
        told = {int(code, 16): bytes.fromhex(text.decode("ascii")).decode("utf-16-be") for code, text in mapped}
        own = next((one for one in _shipped() if all(_alike(drawn, one, code) for code in told)), None)
        other = 0 if own else min(sum(not _alike(drawn, one, code) for code in told) for one in _shipped())
        kinds = tuple(map(str, (font.Subtype, font.Encoding, below.Subtype)))
        widths = list(_widths(below.W))
    except (ValueError, IndexError, KeyError, AttributeError, TypeError, struct.error):
        yield "its letters cannot be read."
        return
    for value, known in ((font, _FONT), (below, _BELOW), (below.FontDescriptor, _DESCRIPTOR)):
        more = sorted(set(value.keys()) - known)
        if more:
            yield f"it holds {', '.join(more)}, which that of a certificate never has."
    if kinds != _KINDS:
        yield "its letters are told in another way than those of a certificate."
    if drawn.units != _UNITS or other:
        yield f"{other} of its letters are drawn otherwise than the type of a certificate draws them."
    if own and (
        [code for code, _ in widths if code] != sorted(set(told) - {0})
        or any(own.advance(at) != width for at, width in widths)
    ):
        yield "its letters are said to be wider or less wide than they are."
    if not _MAP.fullmatch(map_told) or len(mapped) != len(told):
        yield "what its letters stand for is told otherwise than in a certificate, or twice."
    wrong = [text for code, text in told.items() if code and not _stands_for(code, text)]
    if wrong:
        yield f"what is drawn for {wrong[0]!r} is another letter."


def _widths(rows: pikepdf.Object) -> Iterator[tuple[int, float]]:
    """Each code with its width. Raises ValueError or TypeError for another form than the renderer writes."""
    parts = list(rows)
    for first, row in zip(parts[::2], parts[1::2], strict=True):
        yield from ((int(first) + at, float(width)) for at, width in enumerate(list(row)))


def _alike(drawn: Type, own: Type, number: int) -> bool:
    """Whether a glyph has the shipped outline. The one of no letter may be left empty."""
    if drawn.glyph(number).rstrip(b"\0") == own.glyph(number).rstrip(b"\0") and drawn.glyph(number)[:2] != b"\xff\xff":
        return True
    return drawn.outline(number) == own.outline(number) or (number == 0 and not drawn.glyph(0))


def _stands_for(number: int, text: str) -> bool:
    letter = LETTERS[number] if number < len(LETTERS) else _NO_LETTER
    known = (*(letter if letter != _NO_LETTER else ()), *MORE.get(number, ()))
    return text in known or bare(text) in {bare(one) for one in known if bare(one)}
