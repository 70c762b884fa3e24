"""How large each figure of a page is, where its letters stand in it, and what stands next to it: as drawn and as due.

A number of an axis that stands at another tick makes another axis, and a figure set aside belongs to another heading.
So each text of a figure is held to the place its SVG tells, a figure to its size, and in the shipped layout to the
lines above and below it. Sources: SVG 1.1, 7.2, 7.8 (size and own units), 10.9.1 (which end of a text is placed); the
distances to other lines are those of pages this program draws.
"""

from __future__ import annotations

import html
import re
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from benchseal.certificate.page_frame import UNIT_PT, Frame, on_page, told_sizes
from benchseal.certificate.page_letters import said
from benchseal.certificate.page_text import bare

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.page_aloud import Part
    from benchseal.certificate.page_drawing import Drawing
    from benchseal.certificate.page_places import Box
    from benchseal.certificate.page_structure import Structure

_MM: Final = 96 / 25.4  # in the renderer's units
_PT: Final = 96 / 72
_CHART, _MARK, _LOGO = "chart", "mark", "logo"
_MARK_MM: Final = 21.0  # as the style of a certificate has it
_LETTERS: Final = 7.2  # height of those of figures, in a figure's own units
_GIVEN: Final = re.compile(r'([a-zA-Z-]+)="([^"]*)"')
_TEXT: Final = re.compile(r"<text\b([^>]*)>(.*?)</text>", re.DOTALL)
_TAG: Final = re.compile(r"<[^>]*>")
_STATED: Final = re.compile(r"\b(width|height):([0-9.]+)mm")

_SIZE_APART, _TEXT_APART = 0.05, 0.05  # in the renderer's units and in a figure's own
_CLOSER, _FURTHER = -0.15, 0.5  # of the letters' height, from one letter of a text to the next: kerned, and a blank
# From a line's base to the edge of the figure next to it, in points: both papers, and a point more and less.
_ABOVE_CHART, _BELOW_CHART, _BELOW_MARK = (3.5, 5.8), (9.1, 11.4), (8.0, 10.3)
_ASIDE_PT: Final = 1.0


class Text(NamedTuple):
    """A text of a figure, in the figure's units: from, to, base line, height of its letters; its characters."""

    begin: float
    end: float
    base: float
    height: float
    said: str


class Line(NamedTuple):
    """A line of words next to a figure, in points: from, to, base line."""

    begin: float
    end: float
    base: float


class Placed(NamedTuple):
    """A figure as it is drawn. size: width and height in the renderer's units; box: its place on the page, in points.

    texts: None where one is not set as a text is, in one line. above, below: the nearest line of what is read before
    and after it on its page.
    """

    frame: Frame
    size: tuple[float, float]
    box: Box
    texts: tuple[Text, ...] | None
    above: Line | None
    below: Line | None


class DueFigure(NamedTuple):
    """A figure as it is due.

    kind: which lines it stands next to. size: in the renderer's units, 0 where that follows from the other one. units:
    its own, left and upper edge, width and height; none of an image. texts: place, which end is there, characters.
    """

    kind: str
    size: tuple[float, float]
    units: tuple[float, ...]
    texts: tuple[tuple[float, float, str, str], ...]


# ---------------------------------------------------------------- drawn


def placed_figures(drawings: Sequence[Drawing], told: Structure) -> tuple[Placed | None, ...]:
    """Each figure in the order they are read aloud in; None for one that is not placed as the renderer does."""
    parts = [{part.mark: part for part in drawing.parts} for drawing in drawings]
    sizes = told_sizes(told)
    found: list[Placed | None] = []
    for at, one in enumerate(told.marks):
        if not one.pictured:
            continue
        drawing, known = drawings[one.page], parts[one.page]
        frame, part = drawing.frames.get(one.mark), known.get(one.mark)
        edges = sizes.get((one.page, one.mark))
        if frame is None or part is None or edges is None:
            found.append(None)
            continue
        before, after = (
            [known[near.mark] for near in told.marks[there] if near.page == one.page and near.mark in known]
            for there in (slice(max(at - 1, 0), at), slice(at + 1, at + 2))
        )
        above, below = _line(drawing, before, -1), _line(drawing, after, 0)
        size = edges[2] - edges[0], edges[3] - edges[1]
        found.append(Placed(frame, size, on_page(edges, drawing.top), _texts(drawing, part, frame), above, below))
    return tuple(found)


def _line(drawing: Drawing, parts: Sequence[Part], which: int) -> Line | None:
    """The first or last line of a part with words."""
    words = [word for part in parts if not part.figure for word in drawing.words[part.begin : part.end]]
    if not words:
        return None
    base = words[which].base
    row = [word for word in words if abs(word.base - base) < _ASIDE_PT]
    return Line(min(word.begin for word in row), max(word.end for word in row), base)


def _texts(drawing: Drawing, part: Part, frame: Frame) -> tuple[Text, ...] | None:
    """The renderer sets each letter of a text by itself."""
    starts = [at for at in drawing.texts if part.begin <= at < part.end]
    if starts[:1] != [part.begin][: part.end - part.begin]:
        return None
    unit = UNIT_PT * frame.scale
    left, top = UNIT_PT * (frame.x + frame.dx), drawing.top - UNIT_PT * (frame.y + frame.dy)
    found = []
    for begin, end in pairwise([*starts, part.end]):
        words = drawing.words[begin:end]
        if not words:
            continue
        first, last = words[0], words[-1]
        for one, other in pairwise(words):
            gap = (other.begin - one.end) / first.height
            if not _CLOSER <= gap <= _FURTHER or other.base != one.base or other.height != one.height:
                return None
        letters = bare("".join(said(run, letters) for run, letters, _ in drawing.lettered[begin:end]))
        place = (first.begin - left) / unit, (last.end - left) / unit, (top - first.base) / unit
        found.append(Text(*place, first.height / unit, letters))
    return tuple(found)


# ---------------------------------------------------------------- due


def due_figure(figure: str, *, logo: bool) -> DueFigure:
    """Of an SVG or an image in HTML. logo: whether it is that of the letterhead."""
    given = dict(_GIVEN.findall(figure[: figure.index(">")]))
    stated = {name: float(value) * _MM for name, value in _STATED.findall(given.get("style", ""))}
    if "width" in given:
        kind, size = _CHART, tuple(float(given[name].removesuffix("pt")) * _PT for name in ("width", "height"))
    elif logo:
        kind, size = _LOGO, (stated.get("width", 0.0), stated.get("height", 0.0))
    else:
        kind, size = _MARK, (_MARK_MM * _MM, _MARK_MM * _MM)
    units = tuple(map(float, given.get("viewBox", "").replace(",", " ").split()))
    return DueFigure(kind, (size[0], size[1]), units, tuple(_due_texts(figure)))


def _due_texts(figure: str) -> Iterator[tuple[float, float, str, str]]:
    for told, text in _TEXT.findall(figure):
        given = dict(_GIVEN.findall(told))
        letters = bare(html.unescape(_TAG.sub(" ", text)))
        if letters:
            yield float(given["x"]), float(given["y"]), given.get("text-anchor", "start"), letters


# ---------------------------------------------------------------- both


def placed_faults(
    drawn: Sequence[Placed | None], due: Sequence[DueFigure], *, own_layout: bool = False
) -> Iterator[str]:
    """Figures of another size, with letters at other places, or next to other lines than are due.

    Both in the order they are read aloud in. own_layout: of its own size, and next to lines as it likes.
    """
    if len(drawn) != len(due):
        return  # ``page_figure`` says so
    for number, (one, other) in enumerate(zip(drawn, due, strict=True), start=1):
        if one is None or not _of_size(one, other, own_layout=own_layout):
            yield f"figure {number} is drawn larger or smaller than is due, or with a part of it cut off."
        elif not _lettered(one.texts, other.texts):
            yield f"figure {number} has letters at other places than are due."
        elif not own_layout and not _next_to(one, other.kind):
            yield f"figure {number} stands elsewhere than between the lines above and below it."


def _of_size(drawn: Placed, due: DueFigure, *, own_layout: bool) -> bool:
    frame, (wide, high) = drawn.frame, drawn.size
    if not own_layout:
        seen = zip(frame.field, (frame.x, frame.y, wide, high), strict=True)
        sized = zip(drawn.size, due.size, strict=True)
        if any(abs(one - other) > _SIZE_APART for one, other in (*seen, *sized) if other):
            return False
    if not due.units:
        return not frame.scale and max(abs(frame.dx - wide), abs(frame.dy - high)) <= _SIZE_APART
    left, top, width, height = due.units
    scale = min(wide / width, high / height)
    dx, dy = (wide - scale * width) / 2 - scale * left, (high - scale * height) / 2 - scale * top
    apart = abs(frame.scale - scale) * max(width, height), abs(frame.dx - dx), abs(frame.dy - dy)
    return max(apart) <= _SIZE_APART


def _lettered(texts: tuple[Text, ...] | None, due: Sequence[tuple[float, float, str, str]]) -> bool:
    if texts is None or len(texts) != len(due):
        return False
    for (begin, end, base, height, letters), (x, y, anchor, other) in zip(texts, due, strict=True):
        there = {"start": begin, "end": end}.get(anchor, (begin + end) / 2)
        if letters != other or max(abs(there - x), abs(base - y), abs(height - _LETTERS)) > _TEXT_APART:
            return False
    return True


def _next_to(one: Placed, kind: str) -> bool:
    left, low, right, high = one.box
    if kind == _LOGO:
        return True
    if one.below is None:
        return False
    if kind == _MARK:
        middle = (one.below.begin + one.below.end - left - right) / 2
        return abs(middle) <= _ASIDE_PT and _within(low - one.below.base, _BELOW_MARK)
    if one.above is None or max(abs(one.above.begin - left), abs(one.below.begin - left)) > _ASIDE_PT:
        return False
    return _within(one.above.base - high, _ABOVE_CHART) and _within(low - one.below.base, _BELOW_CHART)


def _within(number: float, ends: tuple[float, float]) -> bool:
    return ends[0] <= number <= ends[1]
