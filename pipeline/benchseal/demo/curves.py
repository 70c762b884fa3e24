"""How each invented instrument answers: a curve, its scatter, its drift, its background and its pace."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Channel:
    """One method on one instrument.

    b0, b1, b2: signal (A, or A s in the furnace) at concentration c in the method's unit. digits: places of the signal.
    solution_percent: scatter from solution to solution; reading_percent: between readings of one solution;
    zero_sd: scatter of a blank, in the signal's unit. drift_percent: loss of slope in ten readings.
    background: lowest and highest of a sample, empty where the file has none. operator: as the file prints it.
    """

    method: str
    instrument: str
    operator: str
    b0: float
    b1: float
    b2: float
    digits: int
    solution_percent: float
    reading_percent: float
    zero_sd: float
    drift_percent: float
    background: tuple[float, float] | None
    seconds_a_solution: int
    seconds_a_reading: int
    second_source: float

    def signal(self, concentration: float, sensitivity: float = 1.0) -> float:
        """Signal of a solution; ``sensitivity`` scales what lies above the zero."""
        return self.b0 + sensitivity * concentration * (self.b1 + self.b2 * concentration)


_FLAME = (28, 6)
_FURNACE = (15, 105)
_VAPOUR = (55, 22)


def _flame(method: str, b: tuple[float, float, float], zero_sd: float, second_source: float) -> Channel:
    return Channel(method, "flame-1", "maren.holt", *b, 4, 0.33, 0.60, zero_sd, 0.0, None, *_FLAME, second_source)


CHANNELS: dict[str, Channel] = {
    channel.method: channel
    for channel in (
        _flame("zinc-flame", (0.001, 0.360, -0.035), 0.0006, 1.006),
        _flame("magnesium-flame", (0.001, 0.733, 0.0), 0.0006, 0.994),
        _flame("lead-flame-ware", (0.0005, 0.0176, 0.0), 0.0003, 1.009),
        _flame("cadmium-flame-ware", (0.0005, 0.40, 0.0), 0.0003, 0.991),
        Channel("lead-furnace", "furnace-1", "tobias.quill", 0.0015, 0.00293, 0.0, 5, 2.0, 3.2, 0.00020, 0.4,
                (0.05, 0.30), *_FURNACE, 1.008),
        Channel("cadmium-furnace", "furnace-1", "tobias.quill", 0.001, 0.088, 0.0, 5, 1.0, 2.0, 0.0006, 0.3,
                (0.05, 0.30), *_FURNACE, 0.992),
        Channel("mercury-cold-vapour", "vapour-1", "tobias.quill", 0.002, 0.060, 0.0, 4, 1.0, 2.0, 0.0003, 0.0,
                (0.001, 0.005), *_VAPOUR, 1.012),
        Channel("arsenic-hydride", "hydride-1", "tobias.quill", 0.004, 0.0485, -0.0013, 4, 0.8, 2.0, 0.0004, 0.0,
                (0.001, 0.006), *_VAPOUR, 0.988),
    )
}  # fmt: skip


def least_squares(x: Sequence[float], y: Sequence[float], terms: int) -> tuple[float, ...]:
    """Unweighted coefficients of 1, x(, x²), for placing a few figures of the story; no result comes from here.

    Normal equations and plain elimination are good enough for that and give the same bits everywhere.
    """
    powers = [[_power(one, i) for one in x] for i in range(2 * terms)]
    rows = [
        [fsum(powers[i + j]) for j in range(terms)] + [fsum(a * b for a, b in zip(powers[i], y, strict=True))]
        for i in range(terms)
    ]
    for i in range(terms):
        for other in range(terms):
            if other != i:
                factor = rows[other][i] / rows[i][i]
                rows[other] = [a - factor * b for a, b in zip(rows[other], rows[i], strict=True)]
    return tuple(row[-1] / row[i] for i, row in enumerate(rows))


def value_at(coefficients: Sequence[float], x: float) -> float:
    """Signal of a fitted curve at ``x``."""
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value


def _power(x: float, count: int) -> float:
    value = 1.0
    for _ in range(count):
        value = value * x
    return value
