"""The chart of one check: values found in order, the lines they are held against, those that failed named in words.

Two uses of one picture: the checks of one run over its positions with the limits of the method, and the same check over
runs with mean, 2 s and 3 s. A circle passed, a cross did not; a value far off is an arrow at the edge with its words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.pictures.axes import Scale, on_paper, padded
from benchseal.pictures.frame import FOOT, TOP, Panel, left_of, over, title_of, x_axis, x_labels, y_axis, y_labels
from benchseal.pictures.labels import Label, around, beside, spread, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.axes import Tick
    from benchseal.pictures.labels import Box

LineKind: TypeAlias = Literal["limit", "middle", "warning"]
Shape: TypeAlias = Literal["circle", "cross", "up", "down"]

_BEYOND: Final = 1.0  # of the span of the lines: farther off a value becomes an arrow at the edge
_DOT: Final = 2.4
# Of the largest value: without lines, what scatters less is drawn as flat as it is (our own judgement).
_LEAST_SPAN: Final = 0.05


@dataclass(frozen=True, slots=True)
class Value:
    """One value: where in the order (a position, or the number of a run in time), what was found, in what words.

    words: empty where it passed; else what stands beside it: ``87.1 %, fails``.
    """

    x: int
    y: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A value the others are held against, and its name: ``limit 110``, ``mean``, ``+2 s``."""

    y: float
    text: str
    kind: LineKind = "limit"


@dataclass(frozen=True, slots=True)
class CheckData:
    """What the chart is made of. x_title: ``position in the run``, or what else the order is.

    joined: by a line, which is broken where values are missing.
    """

    subject: str
    x_title: str
    y_quantity: str
    y_unit: str
    values: tuple[Value, ...]
    lines: tuple[Line, ...] = ()
    joined: bool = False
    missing: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not self.values:
            raise ValueError("a chart needs a value")
        if not all(map(math.isfinite, (*(one.y for one in self.values), *(one.y for one in self.lines)))):
            raise ValueError("a picture needs finite numbers")


@dataclass(frozen=True, slots=True)
class Spot:
    """One value on paper."""

    x: float
    y: float
    shape: Shape


@dataclass(frozen=True, slots=True)
class Rule:
    """One line across the panel; where its name had to move, ``name_y`` is where a short stroke leads to."""

    y: float
    kind: LineKind
    name_y: float


@dataclass(frozen=True, slots=True)
class CheckPicture:
    """Everything the macro draws. notes: words there was no room for beside their values."""

    width: float
    height: float
    sentence: str
    panel: Panel
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    rules: tuple[Rule, ...]
    path: str
    spots: tuple[Spot, ...]
    labels: tuple[Label, ...]
    notes: tuple[str, ...]


def check_picture(data: CheckData, width: float, height: float) -> CheckPicture:
    """Lay ``data`` out on ``width`` x ``height`` points; at least 12 points a line are needed above the foot."""
    lines = _named_once(data.lines)
    low, high = _span(data)
    y = Scale(low, high, height - FOOT, TOP)
    y_marks = y_axis(y)
    room = max((width_of(line.text) for line in lines), default=0.0)
    panel = Panel(left_of((y_marks,)), on_paper(width - room - 8.0), TOP, height - FOOT)
    x = _x_scale(data, panel)
    x_marks = x_axis(x, 8, whole=True)
    names = spread((Label(panel.right + 6.0, y(line.y) + 2.4, line.text) for line in lines), TOP, panel.bottom)
    spots = tuple(_spot(one, x, y) for one in data.values)
    # A line is ink too: words stand clear of it where that is possible.
    ruled = [around(panel.left, y(line.y), 0.4) for line in lines]
    words, notes = _words(data.values, spots, panel, [_across(panel, box) for box in ruled])
    y_title = title_of(data.y_quantity, data.y_unit, y_marks.power)
    return CheckPicture(
        width=width,
        height=height,
        sentence=_sentence(data),
        panel=panel,
        x_ticks=x_marks.ticks,
        y_ticks=y_marks.ticks,
        rules=tuple(_rule(line, y, names) for line in lines),
        path=_path(data, spots) if data.joined else "",
        spots=spots,
        labels=(
            over(panel, y_title),
            *y_labels(y_marks, panel.left),
            *words,
            *names,
            *x_labels(x_marks, panel, data.x_title),
        ),
        notes=notes,
    )


def _named_once(lines: Sequence[Line]) -> tuple[Line, ...]:
    """Lines at one place are one line with both names."""
    found: dict[float, Line] = {}
    for line in sorted(lines, key=lambda one: -one.y):
        before = found.get(line.y)
        found[line.y] = Line(line.y, f"{before.text}, {line.text}", before.kind) if before else line
    return tuple(found.values())


def _span(data: CheckData) -> tuple[float, float]:
    """The y axis: all lines, and the values that are not too far off them."""
    levels = [line.y for line in data.lines]
    values = [one.y for one in data.values]
    if levels:
        reach = (max(levels) - min(levels) or abs(levels[0]) or 1.0) * _BEYOND
        values = [min(max(value, min(levels) - reach), max(levels) + reach) for value in values]
        return padded(min(*levels, *values), max(*levels, *values), 0.12)
    low, high = min(values), max(values)
    more = max(0.0, (max(abs(low), abs(high)) * _LEAST_SPAN - (high - low)) / 2.0)
    return padded(low - more, high + more)


def _x_scale(data: CheckData, panel: Panel) -> Scale:
    places = [one.x for one in data.values]
    first, last = min(places), max(places)
    low, high = padded(float(first), float(last), 0.05)
    return Scale(min(low, first - 0.6), max(high, last + 0.6), panel.left, panel.right)


def _spot(one: Value, x: Scale, y: Scale) -> Spot:
    if one.y > y.high:
        return Spot(x(one.x), on_paper(y.end + 3.0), "up")
    if one.y < y.low:
        return Spot(x(one.x), on_paper(y.start - 3.0), "down")
    return Spot(x(one.x), y(one.y), "cross" if one.words else "circle")


def _across(panel: Panel, at: Box) -> Box:
    return type(at)(panel.left, at.top, panel.right, at.bottom)


def _words(
    values: Sequence[Value], spots: Sequence[Spot], panel: Panel, ruled: Sequence[Box]
) -> tuple[tuple[Label, ...], tuple[str, ...]]:
    """The words of values beside them; those that find no place are notes."""
    labels: list[Label] = []
    notes: list[str] = []
    dots = [around(spot.x, spot.y, _DOT) for spot in spots]
    for one, spot in zip(values, spots, strict=True):
        if not one.words:
            continue
        taken = [*dots, *(label.box for label in labels)]
        at, others = (spot.x, spot.y), [(each.x, each.y) for each in spots]
        found = beside(one.words, at, panel.box, [*taken, *ruled], others)
        found = found or beside(one.words, at, panel.box, taken, others)
        if found:
            labels.append(found)
        else:
            notes.append(f"{one.x}: {one.words}")
    return tuple(labels), tuple(notes)


def _rule(line: Line, y: Scale, names: Sequence[Label]) -> Rule:
    name = next(one for one in names if one.text == line.text)
    return Rule(y(line.y), line.kind, on_paper(name.y - 2.4))


def _path(data: CheckData, spots: Sequence[Spot]) -> str:
    """Through the spots in order, begun anew after a value that is missing."""
    pieces: list[list[str]] = [[]]
    for nth, (one, spot) in enumerate(zip(data.values, spots, strict=True)):
        if nth and any(data.values[nth - 1].x < gap < one.x for gap in data.missing):
            pieces.append([])
        pieces[-1].append(f"{spot.x:g} {spot.y:g}")
    return "".join(f"M{'L'.join(piece)}" for piece in pieces if len(piece) > 1)


def _sentence(data: CheckData) -> str:
    failed = [f"{data.x_title} {one.x}: {one.words}" for one in data.values if one.words]
    held = ", ".join(line.text for line in _named_once(data.lines))
    return (
        f"{data.subject}: {len(data.values)} values of {title_of(data.y_quantity, data.y_unit)}, "
        f"{f'against {held}' if held else 'no lines'}; "
        f"{'; '.join(failed) if failed else 'none fails'}."
    )
