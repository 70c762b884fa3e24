"""Shares of an uncertainty as bars: the largest contribution first, what is small summed as the rest."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Final

from benchseal.pictures.axes import on_paper
from benchseal.pictures.labels import SIZE, Label, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

_PITCH: Final = 11.0  # points from bar to bar
_BAR: Final = 6.0
_MOST: Final = 6  # bars at most, the rest counted as one
_SMALL: Final = Decimal(1)  # percent: what is less is not shown by itself where there is more than one such
_TENTH: Final = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Share:
    """One contribution and its share of the variance in percent, exact text of the record."""

    name: str
    percent: str


@dataclass(frozen=True, slots=True)
class SharesData:
    """The contributions to one result's uncertainty, in any order; at least one."""

    subject: str
    shares: tuple[Share, ...]

    def __post_init__(self) -> None:
        if not self.shares or not all(Decimal(one.percent).is_finite() for one in self.shares):
            raise ValueError("a picture needs finite numbers")


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar on paper. light: of the rest, which is drawn as an outline only."""

    x: float
    y: float
    width: float
    height: float
    light: bool


@dataclass(frozen=True, slots=True)
class SharesPicture:
    """Everything the macro draws."""

    width: float
    height: float
    sentence: str
    bars: tuple[Bar, ...]
    axis: float
    labels: tuple[Label, ...]


def shown_shares(data: SharesData) -> tuple[tuple[str, Decimal, bool], ...]:
    """Name, percent and whether it is the rest, for each bar: largest first, the small ones together at the end."""
    ordered = sorted(data.shares, key=lambda one: -Decimal(one.percent))
    shown = [one for one in ordered[:_MOST] if Decimal(one.percent) >= _SMALL]
    rest = ordered[len(shown) :]
    if len(rest) == 1:
        shown, rest = ordered, []
    rows = [(one.name, Decimal(one.percent), False) for one in shown]
    if rest:
        rows.append((f"the other {len(rest)}", sum((Decimal(one.percent) for one in rest), Decimal(0)), True))
    return tuple(rows)


def shares_picture(data: SharesData, width: float) -> SharesPicture:
    """Lay ``data`` out ``width`` points wide; as high as its bars."""
    rows = shown_shares(data)
    left = on_paper(max(width_of(name) for name, _, _ in rows) + 4.0)
    texts = [_percent(percent) for _, percent, _ in rows]
    room = width - left - max(width_of(text) for text in texts) - 6.0
    largest = max(percent for _, percent, _ in rows) or Decimal(1)
    bars: list[Bar] = []
    labels: list[Label] = []
    for nth, ((name, percent, light), text) in enumerate(zip(rows, texts, strict=True)):
        top = on_paper(nth * _PITCH + (_PITCH - _BAR) / 2.0)
        base = on_paper(nth * _PITCH + _PITCH / 2.0 + 0.33 * SIZE)
        wide = on_paper(float(percent / largest) * room)
        bars.append(Bar(left, top, wide, _BAR, light))
        labels += [Label(left - 4.0, base, name, "end"), Label(on_paper(left + wide + 3.0), base, text)]
    return SharesPicture(
        width=width,
        height=len(rows) * _PITCH + 1.0,
        sentence=_sentence(data, rows, texts),
        bars=tuple(bars),
        axis=left,
        labels=tuple(labels),
    )


def _percent(percent: Decimal) -> str:
    cut = percent.quantize(_TENTH, rounding=ROUND_HALF_UP)
    return f"{cut} %" if cut or not percent else "< 0.1 %"


def _sentence(data: SharesData, rows: Sequence[tuple[str, Decimal, bool]], texts: Sequence[str]) -> str:
    said = ", ".join(f"{name} {text}" for (name, _, _), text in zip(rows, texts, strict=True))
    return f"Uncertainty of {data.subject}, shares of the variance: {said}."
