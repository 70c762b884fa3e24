"""Instructions a page is drawn with: how each is written, and what follows it. The renderer writes no others.

Source: ISO 32000-1, annex A (operators).
"""

from __future__ import annotations

import re
from typing import Final

# Readers differ in how they take a number that is larger or finer than they hold (ISO 32000-1, annex C).
_P: Final = rb"[0-9]{1,5}(?:\.[0-9]{0,8})?"
_N: Final = rb"-?" + _P
_NAME: Final = rb"/[A-Za-z0-9.]+"
# Parts of a page: read aloud, with their number; of its margin; and decorations.
_PART: Final = rb"/(?:Span|Figure) <</MCID [0-9]{1,5}>>|/Artifact <</Type /Pagination>>"
_BEGINNING: Final = tuple((b"\n" + one, b" " + one) for one in (b"<</", b"BDC", b"BMC"))


def _numbers(count: int) -> bytes:
    return rb" ".join([_N] * count)


_OPERANDS: Final = {
    name: re.compile(form)
    for names, form in (
        (b"q Q BT ET W W* n f f* B S h EMC", b""), (b"BDC", _PART), (b"BMC", b"/Artifact"),
        (b"m l", _numbers(2)), (b"c cm Tm", _numbers(6)), (b"re", _numbers(4)), (b"rg RG", _numbers(3)),
        (b"w J j M Tr", _P), (b"d", rb"\[(?:" + _P + rb"(?: " + _P + rb")*)?\] " + _P), (b"gs Do", _NAME),
        (b"Tf", _NAME + b" " + _P),
        (b"TJ", rb"\[(?:<(?:[0-9a-f]{4})*>(?:" + _N + rb")?)*\]"),
    )
    for name in names.split()
}  # fmt: skip
# What each is followed by; those without an entry change nothing that is seen.
_ACTS: Final = {
    b"q": "save", b"Q": "restore", b"cm": "move", b"rg": "ink", b"RG": "line_ink", b"Tr": "way", b"w": "pen",
    b"M": "sharp", b"BDC": "open_part", b"BMC": "open_part", b"EMC": "close_part",
    b"BT": "begin", b"ET": "end", b"Tm": "place", b"Tf": "font", b"TJ": "run", b"Do": "drawn_apart", b"m": "to",
    b"l": "to", b"c": "to", b"re": "rectangle", b"W": "clipping", b"W*": "clipping", b"n": "end_path", b"f": "fill",
    b"f*": "fill_odd", b"B": "fill_along", b"S": "along",
}  # fmt: skip
NONE: Final = _OPERANDS[b"q"]
_IN_TEXT: Final = frozenset(b"Tr Tm Tf TJ ET".split())
# Between the beginning of a path and its painting stands nothing but the path (ISO 32000-1, figure 9): readers differ
# in where they take such a path to lie.
NO_PATH, GOES_ON, BEGINS, CLIPS, PAINTS = range(5)
_OF_PATH: Final = {
    name: kind
    for kind, names in ((BEGINS, b"m re"), (GOES_ON, b"l c h"), (CLIPS, b"W W*"), (PAINTS, b"f f* B S n"))
    for name in names.split()
}
# Of each: how its operands are written, whether it belongs into a text, its part in a path, and what follows it.
INSTRUCTIONS: Final = {
    name: (form, name in _IN_TEXT, _OF_PATH.get(name, NO_PATH), _ACTS.get(name)) for name, form in _OPERANDS.items()
}
UNKNOWN: Final[tuple[None, bool, int, None]] = (None, False, NO_PATH, None)


def instructions(content: bytes) -> list[bytes] | None:
    """Each instruction of a drawing; None where the beginning of a part is not written as the renderer does.

    That is in several lines, nothing between them; here it is one.
    """
    for lines, line in _BEGINNING:
        if line in content:
            return None
        content = content.replace(lines, line)
    return content.split(b"\n")
