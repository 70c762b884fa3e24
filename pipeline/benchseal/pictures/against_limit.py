"""Results against their limit: one line for each result, with its uncertainty and its guard band.

A circle with whiskers is the value and U about it; an empty bar is a result below its quantification limit, which lies
somewhere along it. A long line is the limit, a short one the acceptance limit of that result; between
them lies the guard band. What lies too far beyond the limit is an arrow at the edge; its value stands in words anyway.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from benchseal.pictures.axes import Scale, on_paper
from benchseal.pictures.frame import FOOT, Axis, Panel, title_of, x_axis, x_labels
from benchseal.pictures.labels import SIZE, Label, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.axes import Tick

_PITCH: Final = 12.0  # points from line to line
_HEAD: Final = 11.0  # room for the names of the limits
_FAR: Final = 2.0  # times the limit: farther off is an arrow
_LEAST: Final = 60.0  # points the scale needs


@dataclass(frozen=True, slots=True)
class Row:
    """One result. value and expanded: where it has a value; below: where it lies below that limit; else neither.

    accepted_low, accepted_high: acceptance limits that differ from the limit. words: ``0.067 ± 0.020, pass``.
    """

    name: str
    words: str
    value: float | None = None
    expanded: float | None = None
    below: float | None = None
    accepted_low: float | None = None
    accepted_high: float | None = None

    @property
    def numbers(self) -> tuple[float, ...]:
        """Every number of it."""
        all_of = (self.value, self.expanded, self.below, self.accepted_low, self.accepted_high)
        return tuple(one for one in all_of if one is not None)


@dataclass(frozen=True, slots=True)
class LimitData:
    """Results held against one limit; low, high: of the specification, with the text it has there."""

    subject: str
    quantity: str
    unit: str
    low: float | None
    high: float | None
    low_text: str
    high_text: str
    rows: tuple[Row, ...]

    def __post_init__(self) -> None:
        if not self.rows or not self.limits:
            raise ValueError("the picture needs results and a limit")
        if not all(math.isfinite(one) for one in (*self.limits, *(n for row in self.rows for n in row.numbers))):
            raise ValueError("a picture needs finite numbers")

    @property
    def limits(self) -> tuple[float, ...]:
        """Those there are."""
        return tuple(one for one in (self.low, self.high) if one is not None)


@dataclass(frozen=True, slots=True)
class Strip:
    """One line on paper. None: not there.

    whisker: left and right end of U; less_than: right end of the bar of a result below its quantification limit.
    arrow: place of an arrow, and whether it points right. guards: left and right of each guard band; accepted: the
    acceptance limits.
    """

    y: float
    dot: float | None
    whisker: tuple[float, float] | None
    less_than: float | None
    arrow: float | None
    arrow_right: bool
    guards: tuple[tuple[float, float], ...]
    accepted: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LimitPicture:
    """Everything the macro draws. limits: places of the long lines."""

    width: float
    height: float
    sentence: str
    panel: Panel
    x_ticks: tuple[Tick, ...]
    limits: tuple[float, ...]
    strips: tuple[Strip, ...]
    labels: tuple[Label, ...]


def limit_picture(data: LimitData, width: float) -> LimitPicture:
    """Lay ``data`` out ``width`` points wide; as high as its lines. Raises ValueError where no room is left."""
    names = max(width_of(row.name) for row in data.rows)
    words = max(width_of(row.words) for row in data.rows)
    height = _HEAD + len(data.rows) * _PITCH + FOOT
    panel = Panel(on_paper(names + 8.0), on_paper(width - words - 8.0), _HEAD, height - FOOT)
    if panel.right - panel.left < _LEAST:
        raise ValueError("names and words leave no room for the scale")
    x = _scale(data, panel)
    axis: Axis = x_axis(x)
    bases = [on_paper(panel.top + (nth + 0.5) * _PITCH) for nth in range(len(data.rows))]
    return LimitPicture(
        width=width,
        height=height,
        sentence=_sentence(data),
        panel=panel,
        x_ticks=axis.ticks,
        limits=tuple(x(one) for one in data.limits),
        strips=tuple(_strip(row, data, base, x) for row, base in zip(data.rows, bases, strict=True)),
        labels=(
            *(_on_the_paper(label, width) for label in _limit_names(data, x)),
            *(label for row, base in zip(data.rows, bases, strict=True) for label in _texts(row, base, panel)),
            *x_labels(axis, panel, title_of(data.quantity, data.unit, axis.power)),
        ),
    )


def _scale(data: LimitData, panel: Panel) -> Scale:
    """From zero, or from somewhat below a lower limit, to somewhat beyond what is not too far off."""
    low, high = data.low, data.high
    top = high if high is not None else max(data.limits)
    bottom = 0.0 if low is None or low <= 0 else low
    width = (high - low) if low is not None and high is not None and high > low else abs(top) or 1.0
    ends = [end for row in data.rows for end in _ends(row)]
    reach = width if low is not None and low > 0 and high is not None else (_FAR - 1.0) * width
    largest = max([top, *(min(end, top + reach) for end in ends)])
    smallest = bottom
    if low is not None and low > 0:
        smallest = min([low, *(max(end, low - reach) for end in ends)])
    elif any(end < 0 for end in ends):
        smallest = max(min(ends), -reach)
    room = 0.06 * (largest - smallest) or 0.1 * width
    start = smallest - room if smallest != 0 else 0.0
    return Scale(start, largest + room, panel.left, panel.right)


def _ends(row: Row) -> tuple[float, ...]:
    accepted = tuple(one for one in (row.accepted_low, row.accepted_high) if one is not None)
    if row.value is not None:
        spread_by = row.expanded or 0.0
        return (row.value - spread_by, row.value + spread_by, *accepted)
    return (row.below, *accepted) if row.below is not None else accepted


def _strip(row: Row, data: LimitData, base: float, x: Scale) -> Strip:
    at = row.value if row.value is not None else row.below
    off = at is not None and not x.holds(at)
    accepted = [(row.accepted_low, data.low), (row.accepted_high, data.high)]
    guards = [(one, limit) for one, limit in accepted if one is not None and limit is not None]
    return Strip(
        y=base,
        dot=x(row.value) if row.value is not None and not off else None,
        whisker=_whisker(row, x) if not off else None,
        less_than=x(row.below) if row.below is not None and not off else None,
        arrow=_edge(at, x) if off and at is not None else None,
        arrow_right=off and at is not None and at > x.high,
        guards=tuple((_held(min(pair), x), _held(max(pair), x)) for pair in guards),
        accepted=tuple(x(one) for one, _ in guards if x.holds(one)),
    )


def _whisker(row: Row, x: Scale) -> tuple[float, float] | None:
    if row.value is None or row.expanded is None:
        return None
    return _held(row.value - row.expanded, x), _held(row.value + row.expanded, x)


def _held(value: float, x: Scale) -> float:
    return x(min(max(value, x.low), x.high))


def _edge(value: float, x: Scale) -> float:
    return on_paper(x.end - 3.0) if value > x.high else on_paper(x.start + 3.0)


def _limit_names(data: LimitData, x: Scale) -> tuple[Label, ...]:
    """Names over the long lines: the lower one ends there where both would not find room side by side."""
    found = []
    apart = True
    if data.low is not None and data.high is not None:
        wide = (width_of(_low_name(data)) + width_of(_high_name(data))) / 2.0
        apart = x(data.high) - x(data.low) > wide + 4.0
    if data.low is not None:
        found.append(Label(x(data.low), _HEAD - 4.0, _low_name(data), "middle" if apart else "end"))
    if data.high is not None:
        found.append(Label(x(data.high), _HEAD - 4.0, _high_name(data), "middle" if apart else "start"))
    return tuple(found)


def _on_the_paper(label: Label, width: float) -> Label:
    """Moved sideways just so far that nothing of it is cut off."""
    box = label.box
    return replace(label, x=on_paper(label.x + max(0.0, -box.left) - max(0.0, box.right - width)))


def _low_name(data: LimitData) -> str:
    return f"at least {data.low_text}"


def _high_name(data: LimitData) -> str:
    return f"at most {data.high_text}"


def _texts(row: Row, base: float, panel: Panel) -> tuple[Label, Label]:
    y = on_paper(base + 0.33 * SIZE)
    return Label(0.0, y, row.name), Label(panel.right + 6.0, y, row.words)


def _sentence(data: LimitData) -> str:
    limits = [
        *([_low_name(data)] if data.low is not None else []),
        *([_high_name(data)] if data.high is not None else []),
    ]
    unit = f" {data.unit}" if data.unit else ""
    said = "; ".join(f"{row.name}: {row.words}" for row in data.rows)
    return f"{data.subject}, {data.quantity}, limit {' and '.join(limits)}{unit}: {said}."


def longest_of(rows: Sequence[Row]) -> float:
    """Points that names and words of the rows take together."""
    return max(width_of(row.name) for row in rows) + max(width_of(row.words) for row in rows)
