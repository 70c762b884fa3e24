"""Where each figure of a page stands: seen whole, in the margins, below or to the right of what is read before it.

The renderer draws figures after the words of a page, each placed from the page's upper left corner and seen through
its own field. So their order says nothing of where they stand; the order they are read aloud in does, and is held to
their places here, as ``page_order`` holds words. Sources: ISO 32000-1, 8.5.4 (clipping), 14.8.5.4.3 (BBox).
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.certificate.page_drawing import Drawing
    from benchseal.certificate.page_places import Box
    from benchseal.certificate.page_structure import Structure

UNIT_PT: Final = 0.75  # the renderer counts in CSS pixels, 96 to the inch, from the upper left corner
_FRAME: Final = re.compile(
    rb"\nq\n(?P<field>[-0-9.]+ [-0-9.]+ [-0-9.]+ [-0-9.]+) re\nW\nn\n/Figure\n<</MCID (?P<mark>[0-9]+)>>\nBDC\nq\n"
    rb"/a1 gs\n1 0 0 1 (?P<at>[-0-9.]+ [-0-9.]+) cm\nq\n(?:q\n1 0 0 1 0 0 cm\n"
    rb"(?P<scale>[0-9.]+) 0 0 (?P<same>[0-9.]+) (?P<moved>[-0-9.]+ [-0-9.]+) cm\n"
    rb"|(?P<wide>[0-9.]+) 0 0 -(?P<high>[0-9.]+) 0 (?P<down>[0-9.]+) cm\n/\S+ Do\nQ\nQ\nEMC)"
)
_ROUNDED: Final = 0.01
_SLACK_PT: Final = 1.0
_ASIDE_PT, _ABOVE_PT, _BELOW_PT = 14.0, 39.0, 36.0  # of a page, where no figure stands; words end 36 points above
# Of the letters' height, from the level of a run, a fifth above its base: what every line fills of its own.
_UNDER, _OVER = 0.2, 0.3
_NUMBERS: Final = 4


class Frame(NamedTuple):
    """A figure as it is placed, in the renderer's units: its left upper corner; its own units, and where they begin.

    field: what is seen of it: left, top, width, height; larger than the figure where that has a margin of its own. An
    image has no units: scale 0, and its width and height in place of where they begin.
    """

    x: float
    y: float
    scale: float
    dx: float
    dy: float
    field: Box


def frames(content: bytes) -> dict[int, Frame]:
    """Each figure of a page that is placed as the renderer does, by the number of its part."""
    found = {}
    for told in _FRAME.finditer(content):
        x, y = map(float, told["at"].split())
        left, top, width, height = map(float, told["field"].split())
        if told["scale"]:
            scale, (dx, dy) = float(told["scale"]), map(float, told["moved"].split())
        else:
            scale, dx, dy = 0.0, float(told["wide"]), float(told["high"])
        if told["scale"] == told["same"] and told["high"] == told["down"]:
            found[int(told["mark"])] = Frame(x, y, scale, dx, dy, (left, top, width, height))
    return found


def told_sizes(told: Structure) -> dict[tuple[int, int], tuple[float, float, float, float]]:
    """Left, top, right and lower edge of each figure, as a reader's program is told; those that are four numbers."""
    owners = {one.owner: (one.page, one.mark) for one in told.marks if one.pictured}
    found = {}
    for part in told.parts:
        if part.place in owners:
            about: Any = part.item.get("/A", {})
            given: list[Any] = list(about.get("/BBox", ()))
            if len(given) == _NUMBERS and all(isinstance(one, int | Decimal) for one in given):
                x0, y0, x1, y1 = map(float, given)
                found[owners[part.place]] = x0, y0, x1, y1
    return found


def frame_faults(drawn: Drawing, told: Structure, page: int) -> Iterator[str]:
    """Figures placed otherwise than the renderer does, or elsewhere than they are read. page: counted from 0."""
    figures = {part.mark for part in drawn.parts if part.figure}
    if not figures:
        return
    if not all(_whole(drawn, mark) for mark in figures):
        yield "a figure is placed or cut off otherwise than that of a certificate."
        return
    sizes = {mark: edges for (number, mark), edges in told_sizes(told).items() if number == page}
    if not all(mark in sizes and _as_told(drawn.frames[mark], sizes[mark]) for mark in figures):
        yield "a figure is told to be of another place or size than it is drawn."
        return
    boxes = {mark: on_page(sizes[mark], drawn.top) for mark in figures}
    if any(not _off_the_edges(box, drawn) for box in boxes.values()):
        yield "a figure stands in the margin."
    if not _as_read(drawn, told, page, boxes):
        yield "a figure stands elsewhere than where it is read, or over words or another figure."


def on_page(edges: tuple[float, float, float, float], top_pt: float) -> Box:
    """In points from the lower edge of a page. edges: left, top, right and lower, in the renderer's units."""
    left, top, right, low = edges
    return left * UNIT_PT, top_pt - low * UNIT_PT, right * UNIT_PT, top_pt - top * UNIT_PT


def _whole(drawn: Drawing, mark: int) -> bool:
    """Whether a figure is seen through the whole of its field, in the page's own units."""
    frame = drawn.frames.get(mark)
    if frame is None:
        return False
    under, clip = drawn.framed[mark]
    x, y, width, height = frame.field
    due = (UNIT_PT, 0.0, 0.0, -UNIT_PT, 0.0, drawn.top, *on_page((x, y, x + width, y + height), drawn.top))
    return all(abs(one - other) <= _ROUNDED for one, other in zip((*under, *clip), due, strict=True))


def _as_told(frame: Frame, edges: tuple[float, float, float, float]) -> bool:
    """Whether a figure begins where a reader's program is told, and ends in its field."""
    left, top, right, low = edges
    x, y, width, height = frame.field
    begins = abs(frame.x - left) <= _ROUNDED and abs(frame.y - top) <= _ROUNDED and left < right and top < low
    within = x - _ROUNDED <= left and y - _ROUNDED <= top
    return begins and within and right <= x + width + _ROUNDED and low <= y + height + _ROUNDED


def _off_the_edges(box: Box, drawn: Drawing) -> bool:
    left, low, right, high = box
    return left >= _ASIDE_PT and right <= drawn.right - _ASIDE_PT and low >= _BELOW_PT and high <= drawn.top - _ABOVE_PT


def _as_read(drawn: Drawing, told: Structure, page: int, boxes: dict[int, Box]) -> bool:
    """Whether each figure lies below or right of what is read before it, and what is read after it of the figure."""
    parts = {part.mark: part for part in drawn.parts}
    places: list[Box] = []
    figures = []
    for one in told.marks:
        if one.page != page or one.mark not in parts:
            continue
        if one.mark in boxes:
            figures.append((len(places), boxes[one.mark]))
            places.append(boxes[one.mark])
            continue
        part = parts[one.mark]
        for begin, end, level, height in drawn.runs[part.begin : part.end]:
            places.append((begin, level - _UNDER * height, end, level + _OVER * height))
    lefts, lows, rights, highs = np.array(places, dtype=float).reshape(-1, 4).T
    for at, (left, low, right, high) in figures:
        before = (lows >= high - _SLACK_PT) | (rights <= left + _SLACK_PT)
        after = (highs <= low + _SLACK_PT) | (lefts >= right - _SLACK_PT)
        if not (before[:at].all() and after[at + 1 :].all()):
            return False
    return True
