"""Drift and blanks over the order of a run: what check standards and blanks read, reading by reading, as read.

Above, each reading of the check standard, with the line between the checks where signals were corrected for drift.
Below, the readings of the blanks, kind by kind: each kind has its own shape, named in the row over the panel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.pictures.axes import Scale, on_paper, padded
from benchseal.pictures.frame import (
    BETWEEN,
    FOOT,
    TOP,
    Axis,
    Panel,
    left_of,
    over,
    title_of,
    x_axis,
    x_labels,
    y_axis,
    y_labels,
)
from benchseal.pictures.labels import Label, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.axes import Tick

Shape: TypeAlias = Literal["circle", "square", "triangle", "diamond", "plus"]

SHAPES: Final[tuple[Shape, ...]] = ("circle", "square", "triangle", "diamond", "plus")
_RIGHT: Final = 6.0
_KEY: Final = 10.0  # room for the row of shapes over the lower panel


@dataclass(frozen=True, slots=True)
class Read:
    """One reading: position of its solution in the run, and the signal."""

    x: int
    y: float


@dataclass(frozen=True, slots=True)
class Kind:
    """The readings of solutions of one kind: ``check blank``."""

    name: str
    readings: tuple[Read, ...]


@dataclass(frozen=True, slots=True)
class OverRunData:
    """What the picture is made of; at least one of standards and blanks has readings.

    standards: of check standards of one concentration; named: ``check standard 10 µg/L``. blanks: at most five kinds.
    standard_line, blank_line: where signals were corrected for drift, the lines they were corrected by.
    """

    subject: str
    signal: str
    unit: str
    named: str
    standards: tuple[Read, ...]
    blanks: tuple[Kind, ...]
    standard_line: tuple[Read, ...] = ()
    blank_line: tuple[Read, ...] = ()

    def __post_init__(self) -> None:
        if not self.readings or len(self.blanks) > len(SHAPES):
            raise ValueError("the picture needs readings, and blanks of at most five kinds")
        if not all(math.isfinite(one.y) for one in (*self.readings, *self.standard_line, *self.blank_line)):
            raise ValueError("a picture needs finite numbers")

    @property
    def readings(self) -> tuple[Read, ...]:
        """All of them."""
        return (*self.standards, *(one for kind in self.blanks for one in kind.readings))


@dataclass(frozen=True, slots=True)
class Spot:
    """One reading on paper."""

    x: float
    y: float
    shape: Shape


@dataclass(frozen=True, slots=True)
class Strip:
    """One panel with its axis. first: height of the first solution's mean, None where there is nothing to compare."""

    panel: Panel
    y_ticks: tuple[Tick, ...]
    spots: tuple[Spot, ...]
    path: str
    first: float | None


@dataclass(frozen=True, slots=True)
class OverRunPicture:
    """Everything the macro draws. key: the shapes of the row that names them."""

    width: float
    height: float
    sentence: str
    strips: tuple[Strip, ...]
    x_ticks: tuple[Tick, ...]
    key: tuple[Spot, ...]
    labels: tuple[Label, ...]


def over_run_picture(data: OverRunData, width: float, height: float) -> OverRunPicture:
    """Lay ``data`` out on ``width`` x ``height`` points; a kind of solution that was not read has no panel."""
    frames = _frames(data, width, height, 0.0)
    parts = _parts(data)
    scales = [_y_scale(rows, line, frame) for (_, rows, line), frame in zip(parts, frames, strict=True)]
    axes = [y_axis(scale) for scale in scales]
    frames = _frames(data, width, height, left_of(axes))
    x = _x_scale(data, frames[0])
    x_marks = x_axis(x, 10, whole=True)
    strips = tuple(
        _strip(part, frame, x, scale, axis)
        for part, frame, scale, axis in zip(parts, frames, scales, axes, strict=True)
    )
    titles = [
        over(_raised(frame, part), title_of(part[0], data.unit, axis.power))
        for part, frame, axis in zip(parts, frames, axes, strict=True)
    ]
    key, names = _key(data, frames[-1]) if data.blanks else ((), ())
    each = [
        (title, *(names if title is titles[-1] and data.blanks else ()), *y_labels(axis, frame.left))
        for title, axis, frame in zip(titles, axes, frames, strict=True)
    ]
    return OverRunPicture(
        width=width,
        height=height,
        sentence=_sentence(data),
        strips=strips,
        x_ticks=x_marks.ticks,
        key=key,
        labels=(*(label for row in each for label in row), *x_labels(x_marks, frames[-1], "position in the run")),
    )


_Part: TypeAlias = "tuple[str, tuple[tuple[Shape, Read], ...], tuple[Read, ...]]"


def _parts(data: OverRunData) -> list[_Part]:
    """Title, readings with their shapes and line of each panel that has readings."""
    found: list[_Part] = []
    if data.standards:
        rows: tuple[tuple[Shape, Read], ...] = tuple(("circle", one) for one in data.standards)
        found.append((f"{data.named}, {data.signal}", rows, data.standard_line))
    if data.blanks:
        rows = tuple((shape, one) for shape, kind in zip(SHAPES, data.blanks, strict=False) for one in kind.readings)
        found.append((f"blanks, {data.signal}", rows, data.blank_line))
    return found


def _frames(data: OverRunData, width: float, height: float, left: float) -> list[Panel]:
    """One panel or two of equal height."""
    right, foot = width - _RIGHT, height - FOOT
    key = _KEY if data.blanks else 0.0
    if not (data.standards and data.blanks):
        return [Panel(left, right, TOP + key, foot)]
    each = (foot - TOP - BETWEEN - key) / 2.0
    return [
        Panel(left, right, TOP, on_paper(TOP + each)),
        Panel(left, right, on_paper(TOP + each + BETWEEN + key), foot),
    ]


def _raised(frame: Panel, part: _Part) -> Panel:
    """Where the title of a panel stands: over the row of shapes where there is one."""
    blanks = part[0].startswith("blanks")
    return Panel(frame.left, frame.right, frame.top - (_KEY if blanks else 0.0), frame.bottom)


def _y_scale(rows: Sequence[tuple[Shape, Read]], line: Sequence[Read], frame: Panel) -> Scale:
    heights = [one.y for _, one in rows] + [one.y for one in line]
    low, high = padded(min(heights), max(heights), 0.12)
    return Scale(low, high, frame.bottom, frame.top)


def _x_scale(data: OverRunData, frame: Panel) -> Scale:
    places = [one.x for one in (*data.readings, *data.standard_line, *data.blank_line)]
    low, high = padded(float(min(places)), float(max(places)), 0.03)
    return Scale(min(low, min(places) - 0.6), max(high, max(places) + 0.6), frame.left, frame.right)


def _strip(part: _Part, frame: Panel, x: Scale, y: Scale, axis: Axis) -> Strip:
    _, rows, line = part
    first_at = rows[0][1].x
    first = [one.y for _, one in rows if one.x == first_at]
    compared = not part[0].startswith("blanks") and len({one.x for _, one in rows}) > 1
    path = "M" + "L".join(f"{x(one.x):g} {y(one.y):g}" for one in line) if len(line) > 1 else ""
    return Strip(
        panel=frame,
        y_ticks=axis.ticks,
        spots=tuple(Spot(x(one.x), y(one.y), shape) for shape, one in rows),
        path=path,
        first=y(sum(first) / len(first)) if compared else None,
    )


def _key(data: OverRunData, frame: Panel) -> tuple[tuple[Spot, ...], tuple[Label, ...]]:
    """The shapes in a row over the panel, each with the name of its kind."""
    base, at = on_paper(frame.top - 4.5), frame.left
    spots: list[Spot] = []
    labels: list[Label] = []
    for shape, kind in zip(SHAPES, data.blanks, strict=False):
        spots.append(Spot(on_paper(at + 2.0), on_paper(base - 2.4), shape))
        labels.append(Label(on_paper(at + 6.0), base, kind.name))
        at += width_of(kind.name) + 14.0
    return tuple(spots), tuple(labels)


def _sentence(data: OverRunData) -> str:
    parts = []
    if data.standards:
        parts.append(f"{len(data.standards)} readings of {data.named} {_positions(data.standards)}")
    parts += [f"{len(kind.readings)} of {kind.name} {_positions(kind.readings)}" for kind in data.blanks]
    line = "; the line between the checks is that of the drift correction" if data.standard_line else ""
    return f"{data.subject}, {title_of(data.signal, data.unit)} over the order of the run: {'; '.join(parts)}{line}."


def _positions(rows: Sequence[Read]) -> str:
    first, last = min(one.x for one in rows), max(one.x for one in rows)
    return f"at position {first}" if first == last else f"at positions {first} to {last}"
