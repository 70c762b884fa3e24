"""The letters of a file are those of the shipped type: what a code is drawn as, is the character it stands for.

The words of a page are read by the map from codes to characters that comes with each font of the file; what is seen is
the outline under the code. So each outline is held to the shipped type's under the same number, and each character to
those the shipped type draws so. Outlines are compared as points, since programs that cut a font down write the same
outline in several ways. Source: OpenType 1.9, head, maxp, loca and glyf (simple and composite descriptions).
"""

from __future__ import annotations

import struct
from functools import cache
from typing import TYPE_CHECKING, Final, TypeAlias

from benchseal import shipped
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

    def glyph(self, number: int) -> bytes:
        """Bytes of the description; none for an empty glyph."""
        return self._data[self._start + self._places[number] : self._start + self._places[number + 1]]

    def outline(self, number: int, deep: int = 0) -> Outline:
        """Contours of a glyph, those of its parts put in place."""
        data = self.glyph(number)
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
        for name, font in page.obj.Resources.get("/Font", {}).items():
            if font.objgen not in seen:
                seen.add(font.objgen)
                yield from (f"font {name[1:]}: {fault}" for fault in _font_faults(font))


def _font_faults(font: pikepdf.Object) -> Iterator[str]:
    try:
        drawn = Type(font.DescendantFonts[0].FontDescriptor.FontFile2.read_bytes())
        told = {
            int(code, 16): bytes.fromhex(text.decode("ascii")).decode("utf-16-be")
            for code, text in MAPPED.findall(font.ToUnicode.read_bytes())
        }
        other = [sum(not _alike(drawn, own, code) for code in told) for own in _shipped()]
    except (ValueError, IndexError, KeyError, AttributeError, struct.error):
        yield "its letters cannot be read."
        return
    if drawn.units != _UNITS or min(other):
        yield f"{min(other)} of its letters are drawn otherwise than the type of a certificate draws them."
    wrong = [text for code, text in told.items() if code and not _stands_for(code, text)]
    if wrong:
        yield f"what is drawn for {wrong[0]!r} is another letter."


def _alike(drawn: Type, own: Type, number: int) -> bool:
    """Whether a glyph has the shipped outline. The one of no letter may be left empty."""
    if drawn.glyph(number).rstrip(b"\0") == own.glyph(number).rstrip(b"\0") and drawn.glyph(number)[:2] != b"\xff\xff":
        return True
    return drawn.outline(number) == own.outline(number) or (number == 0 and not drawn.glyph(0))


def _stands_for(number: int, text: str) -> bool:
    letter = LETTERS[number] if number < len(LETTERS) else _NO_LETTER
    known = (*(letter if letter != _NO_LETTER else ()), *MORE.get(number, ()))
    return text in known or bare(text) in {bare(one) for one in known if bare(one)}
