"""Lies for those who have the page read aloud, and in its figures: the words of the page are as they were.

Marks of the drawing exchanged, words passed over, tables without rows or heads, shapes of a figure removed. Sealed with
the laboratory's own key. Common practice, no source.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pikepdf
from tests.attacks.forged_beside import drawn
from tests.attacks.forged_inside import redone
from tests.attacks.forged_kept import parts
from tests.attacks.forged_outside import Attack

if TYPE_CHECKING:
    from collections.abc import Callable

_PART: Final = re.compile(rb"/Span\n<</MCID (\d+)>>\nBDC\n(.*?)EMC\n", re.DOTALL)
_VALUE: Final = 39  # the part of the first result's value


def _exchanged(one: int, other: int) -> Callable[[pikepdf.Pdf], None]:
    """Two parts of the page in each other's place, where it is read aloud."""
    places = {b"%d" % one: b"%d" % other, b"%d" % other: b"%d" % one}
    return drawn(lambda data: re.sub(rb"(?<=MCID )\d+(?=>>)", lambda mark: places.get(mark[0], mark[0]), data))


def _rewritten(form: bytes, first: int = _VALUE, last: int = _VALUE) -> Callable[[pikepdf.Pdf], None]:
    """Parts of the page written otherwise. form: with the part's number and what is drawn in it."""

    def written(part: re.Match[bytes]) -> bytes:
        if not first <= int(part[1]) <= last:
            return part[0]
        return form.replace(b"NUMBER", part[1]).replace(b"DRAWN", part[2])

    return drawn(lambda data: _PART.sub(written, data))


_BEGIN: Final = b"/Span\n<</MCID NUMBER>>\nBDC\n"


def _no_heads(pdf: pikepdf.Pdf) -> None:
    for kind in ("/TD", "/TH"):
        for cell in parts(pdf, kind):
            cell.S = pikepdf.Name.P
            for name in ("/A", "/ID"):
                if name in cell:
                    del cell[name]
    pdf.Root.StructTreeRoot.IDTree.Names = pikepdf.Array([])


def _no_tables(pdf: pikepdf.Pdf) -> None:
    _no_heads(pdf)
    for kind in ("/Table", "/TR", "/TBody", "/THead"):
        for part in parts(pdf, kind):
            part.S = pikepdf.Name.NonStruct


def _renamed(before: str, after: str) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        for part in list(parts(pdf, before)):
            part.S = pikepdf.Name(after)

    return change


def _one_head_named(pdf: pikepdf.Pdf) -> None:
    for cell in parts(pdf, "/TD"):
        cell.A.Headers = pikepdf.Array([next(iter(cell.A.Headers))])


def _wide_head(pdf: pikepdf.Pdf) -> None:
    list(parts(pdf, "/TH"))[4].A.ColSpan = 7


def _emptied(data: bytes) -> bytes:
    """Curve, points and axes of the first picture removed."""
    begin = data.index(b"/Figure\n")
    end = data.index(b"EMC", begin)
    shapes = rb"(?:[-0-9. ]+ [mlc]\n|h\n)+(?:S|f|B)\n"
    return data[:begin] + re.sub(shapes, b"", data[begin:end]) + data[end:]


def _point_moved(data: bytes) -> bytes:
    """The first step of the first curve ends elsewhere."""
    at = data.index(b" c\n", data.index(b"/Figure\n"))
    line = data.rindex(b"\n", 0, at) + 1
    *before, last = data[line:at].split(b" ")
    return data[:line] + b" ".join((*before, b"%f" % (float(last) + 1))) + data[at:]


def _line_added(data: bytes) -> bytes:
    at = data.index(b"S\nQ\n", data.index(b"/Figure\n"))
    return data[:at] + b"60 60 m\n90 40 l\n" + data[at:]


def _told(name: str, change: Callable[[pikepdf.Pdf], None], words: str, check: str = "page form") -> Attack:
    return Attack(name, redone(change), check, words)


_ELSE: Final = "nothing else printed"
ALOUD: Final = (
    _told("aloud: two values exchanged in the drawing", _exchanged(39, 49), "not numbered in the order"),
    _told("aloud: value and limit exchanged in the drawing", _exchanged(39, 41), "not numbered in the order"),
    _told("aloud: two names exchanged in the drawing", _exchanged(37, 47), "not numbered in the order"),
    _told("aloud: a value in an artifact", _rewritten(_BEGIN + b"/Artifact\nBMC\nDRAWNEMC\nEMC\n"), "lies in another"),
    _told("aloud: a value after its part", _rewritten(_BEGIN + b"EMC\nDRAWN"), "outside its parts"),
    _told("aloud: a value beside its part", _rewritten(_BEGIN + b"EMC\n/Artifact\nBMC\nDRAWNEMC\n"), "a decoration"),
    _told(
        "aloud: a value called margin",
        _rewritten(_BEGIN + b"EMC\n/Artifact\n<</Type /Pagination>>\nBDC\nDRAWNEMC\n"),
        "margin is not drawn last",
    ),
    _told(
        "aloud: a value called artifact",
        _rewritten(b"/Artifact\n<</MCID NUMBER>>\nBDC\nDRAWNEMC\n"),
        "which a certificate",
    ),
    _told(
        "aloud: no result of the page", _rewritten(_BEGIN + b"EMC\n/Artifact\nBMC\nDRAWNEMC\n", 37, 130), "a decoration"
    ),
    _told(
        "aloud: a part begun in another way", _rewritten(b"/Span <</MCID NUMBER>> BDC\nDRAWNEMC\n"), "written otherwise"
    ),
    _told("aloud: cells as paragraphs", _no_heads, "where a row of a table is due", _ELSE),
    _told("aloud: no tables", _no_tables, "where a row of a table is due", _ELSE),
    _told("aloud: no head of a table", _renamed("/THead", "/TBody"), "of its head", _ELSE),
    _told("aloud: headings as paragraphs", _renamed("/H2", "/P"), "to another place than to its heading"),
    _told("aloud: paragraphs as sections", _renamed("/P", "/Sect"), "where a paragraph is due", _ELSE),
    _told("aloud: one head of each cell", _one_head_named, "under the head"),
    _told("aloud: a head over seven columns", _wide_head, "with other cells", _ELSE),
    _told("figure: emptied", drawn(_emptied, 1), "other lines or fields", _ELSE),
    _told("figure: a point moved", drawn(_point_moved, 1), "other lines or fields", _ELSE),
    _told("figure: a line added", drawn(_line_added, 1), "other lines or fields", _ELSE),
)
