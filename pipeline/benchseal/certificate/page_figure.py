"""Lines and fields of the figures of a page, as they are drawn and as the page before it is laid out has them.

The renderer writes each shape of a figure with the numbers of its SVG, so both are compared number by number: inks,
widths, dashes, turns and points. Sources: SVG 1.1, 7.6 (turns), 8.3 (paths), 9.3 (circles); ISO 32000-1, 8.5 (paths).

Where a figure stands, its size and its letters are held in ``page_frame`` and ``page_labels``. Limits: the lines of a
logo are not compared; a point less than a two-hundredth of a unit away is taken for the same, as both are rounded.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Final, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

# Of a figure: how each shape is painted and the kinds of its steps, one letter each; all its numbers in order.
Shapes: TypeAlias = "tuple[str, tuple[float, ...]]"

NOT_COMPARED: Final[Shapes] = ("-", ())
_SHAPE: Final = re.compile(
    rb"q\n(?:(.*) cm\n)?(?:/\S+ gs\n(.*) rg\n)?(?:/\S+ gs\n(.*) RG\n(.*) w\n)?\[(.*)\] 0 d\n0 J\n0 j\n4 M\n"
    rb"((?:(?:[-0-9. ]+ [mlc]|h)\n)+)([SfB])\nQ"
)
_OTHER: Final = re.compile(rb"^(?:.* )?(?:S|f\*?|B|re|cm|Do)$", re.MULTILINE)
_PLACED: Final = 3  # changes of place and size before anything of a figure is drawn
_BEGIN, _BEGUN, _END = b"\n/Figure\n<</MCID ", b">>\nBDC\n", b"\nEMC"

_ELEMENT: Final = re.compile(r"<(path|circle)\b([^>]*)/>")
_GIVEN: Final = re.compile(r'([a-z-]+)="([^"]*)"')
_STEP: Final = re.compile(r"([A-Za-z])([^A-Za-z]*)")
_TURN: Final = re.compile(r"rotate\((\S+) (\S+) (\S+)\)")
_TAKES: Final = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "q": 4}
_WRITTEN: Final = {"h": "l", "v": "l", "q": "c"}
_ROUND: Final = 1 / math.sqrt(math.pi)  # how far the renderer sets the handles of a circle, of its radius
_APART: Final = 0.005


# ---------------------------------------------------------------- drawn


def drawn_shapes(content: bytes) -> dict[int, Shapes]:
    """Shapes of each figure of a page, by the number of its part."""
    found = {}
    for one in content.split(_BEGIN)[1:]:
        number, _, rest = one.partition(_BEGUN)
        found[int(number)] = _shapes(rest.partition(_END)[0])
    return found


def _shapes(drawn: bytes) -> Shapes:
    parts = _SHAPE.split(drawn)
    letters, numbers = [], []
    for at in range(1, len(parts), 8):
        *told, steps, paint = (one or b"" for one in parts[at : at + 7])
        letters.append(paint)
        letters += (line[-1:] for line in steps.split(b"\n"))
        numbers += told
        numbers.append(re.sub(rb"[mlch]\n", b"", steps))
    others = [one.rpartition(b" ")[2] for one in _OTHER.findall(b"\n".join(parts[::8]))]
    if others.count(b"cm") != _PLACED + others.count(b"Do") or set(others) - {b"cm", b"Do"}:
        letters.append(b"?")
    return b"".join(letters).decode("ascii"), tuple(map(float, b" ".join(numbers).split()))


# ---------------------------------------------------------------- due


def due_shapes(figure: str) -> Shapes:
    """Shapes of a figure in SVG, made of paths and circles."""
    letters, numbers = [], []
    for kind, told in _ELEMENT.findall(figure):
        given = dict(_GIVEN.findall(told))
        fill, stroke = given.get("fill", "#000000"), given.get("stroke", "none")
        steps = list(_circle(given) if kind == "circle" else _path(given["d"]))
        letters.append("f" if stroke == "none" else "S" if fill == "none" else "B")
        letters += (step for step, _ in steps)
        numbers += [*_turned(given.get("transform", "")), *_ink(fill), *_ink(stroke)]
        numbers += [float(given["stroke-width"])] if stroke != "none" else []
        numbers += map(float, given.get("stroke-dasharray", "").split())
        numbers += (number for _, points in steps for number in points)
    return "".join(letters), tuple(numbers)


def _ink(told: str) -> list[float]:
    return [] if told == "none" else [part / 255 for part in bytes.fromhex(told[1:])]


def _turned(told: str) -> list[float]:
    turn = _TURN.fullmatch(told)
    if turn is None:
        return []
    angle, x, y = map(float, turn.groups())
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return [cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y]


def _circle(given: dict[str, str]) -> Iterator[tuple[str, tuple[float, ...]]]:
    x, y, r = (float(given[name]) for name in ("cx", "cy", "r"))
    k = r * _ROUND
    yield "m", (x + r, y)
    yield "c", (x + r, y + k, x + k, y + r, x, y + r)
    yield "c", (x - k, y + r, x - r, y + k, x - r, y)
    yield "c", (x - r, y - k, x - k, y - r, x, y - r)
    yield "c", (x + k, y - r, x + r, y - k, x + r, y)
    yield "h", ()


def _path(told: str) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Steps as the renderer writes them: it begins at the origin, and every point is told from there."""
    x = y = begun_x = begun_y = 0.0
    yield "m", (x, y)
    for letter, rest in _STEP.findall(told):
        kind, numbers = letter.lower(), [*map(float, rest.split())]
        if kind == "z":
            x, y = begun_x, begun_y
            yield "h", ()
            continue
        for at in range(0, len(numbers), _TAKES[kind]):
            left, up = (x, y) if letter == kind else (0.0, 0.0)
            given = numbers[at : at + _TAKES[kind]]
            if kind == "h":
                given = [left + given[0], y]
            elif kind == "v":
                given = [x, up + given[0]]
            else:
                given = [number + (up if place % 2 else left) for place, number in enumerate(given)]
            if kind == "q":  # a curve with one handle, written as one with two
                a, b, to_x, to_y = given
                near = x + (a - x) * 2 / 3, y + (b - y) * 2 / 3
                far = to_x + (a - to_x) * 2 / 3, to_y + (b - to_y) * 2 / 3
                given = [*near, *far, to_x, to_y]
            x, y = given[-2:]
            if kind == "m":
                begun_x, begun_y = x, y
            yield _WRITTEN.get(kind, kind), tuple(given)


# ---------------------------------------------------------------- both


def shape_faults(drawn: Sequence[Shapes], due: Sequence[Shapes]) -> Iterator[str]:
    """One sentence where a figure has other lines or fields than are due. Both in the order they are read aloud in."""
    if len(drawn) != len(due):
        yield f"{len(drawn)} figures are drawn where {len(due)} are due."
        return
    for number, (one, other) in enumerate(zip(drawn, due, strict=True), start=1):
        if other is not NOT_COMPARED and not _alike(one, other):
            yield f"figure {number} is drawn with other lines or fields than are due."


def _alike(one: Shapes, other: Shapes) -> bool:
    if one[0] != other[0] or len(one[1]) != len(other[1]):
        return False
    return all(abs(a - b) <= _APART for a, b in zip(one[1], other[1], strict=True))
