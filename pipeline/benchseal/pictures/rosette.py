"""The rosette: a small figure of superposed closed curves drawn from a digest.

Two people who look at the same digest see the same figure; a digest that differs in one bit gives another. It is
an aid to the eye, not a proof: two digests may look alike, so whoever must be sure compares the digest itself.

The 32 bytes are first expanded by SHA-256, so that near digests do not give near figures. Four rings take eight
bytes each: petals, depth, a second wave and its phase. Each ring is drawn several times, turned by a part of one
petal, which gives the engraved look. Curves are cubic Hermite segments from the exact tangent.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass

SIDE = 100.0  # the figure fills a square of this side
_MIDDLE = SIDE / 2.0
_SEGMENTS_A_PETAL = 7


@dataclass(frozen=True, slots=True)
class Ring:
    """One closed curve in polar form and the angles, in degrees, by which its copies are turned."""

    path: str
    turns: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Rosette:
    """Rings from the outside in, on a square of side ``SIDE`` with the middle at half of it."""

    side: float
    rings: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class _Wave:
    radius: float
    petals: int
    depth: float
    second: int
    second_depth: float
    phase: float

    def polar(self, angle: float) -> tuple[float, float]:
        """Radius at ``angle`` and its derivative."""
        first, other = self.petals * angle, self.second * angle + self.phase
        radius = self.radius + self.depth * math.cos(first) + self.second_depth * math.cos(other)
        slope = -self.depth * self.petals * math.sin(first) - self.second_depth * self.second * math.sin(other)
        return radius, slope

    def point(self, angle: float) -> tuple[float, float, float, float]:
        """x, y and their derivatives by the angle."""
        radius, slope = self.polar(angle)
        sine, cosine = math.sin(angle), math.cos(angle)
        x, y = _MIDDLE + radius * cosine, _MIDDLE + radius * sine
        return x, y, slope * cosine - radius * sine, slope * sine + radius * cosine


# radius, deepest wave, petals from, number of petal counts, copies
_RINGS = (
    (41.0, 7.0, 7, 14, 3),
    (28.0, 8.0, 5, 10, 2),
    (16.0, 7.0, 3, 8, 2),
    (6.5, 5.0, 3, 6, 1),
)


def rosette(digest: bytes) -> Rosette:
    """The figure of a 32-byte digest. Raises ValueError for another length."""
    if len(digest) != 32:
        raise ValueError("a rosette is drawn from 32 bytes")
    seed = hashlib.sha256(b"benchseal-rosette/1\n" + digest).digest()
    return Rosette(SIDE, tuple(_ring(index, seed[8 * index : 8 * index + 8]) for index in range(len(_RINGS))))


def _ring(index: int, part: bytes) -> Ring:
    radius, deepest, fewest, counts, copies = _RINGS[index]
    petals = fewest + part[0] % counts
    share = 0.4 + 0.4 * part[1] / 255.0  # of the depth: the first wave; the second gets what is left
    wave = _Wave(
        radius=radius,
        petals=petals,
        depth=deepest * share,
        second=petals * (2 + part[2] % 2),
        second_depth=deepest * (1.0 - share),
        phase=math.tau * int.from_bytes(part[3:5], "big") / 65536.0,
    )
    tilt = 360.0 * int.from_bytes(part[5:7], "big") / 65536.0
    spread = 360.0 / petals * (0.6 + 0.4 * part[7] / 255.0)
    turns = tuple(round(tilt + spread * copy / copies, 2) for copy in range(copies))
    return Ring(_closed(wave), turns)


def _closed(wave: _Wave) -> str:
    """The closed curve as cubic segments."""
    count = _SEGMENTS_A_PETAL * wave.petals
    step = math.tau / count
    stations = [wave.point(step * index) for index in range(count)]
    third = step / 3.0
    parts = [f"M{stations[0][0]:.1f} {stations[0][1]:.1f}"]
    for index, (x, y, dx, dy) in enumerate(stations):
        to_x, to_y, to_dx, to_dy = stations[(index + 1) % count]
        handles = (x + dx * third, y + dy * third, to_x - to_dx * third, to_y - to_dy * third, to_x, to_y)
        parts.append("C" + " ".join(f"{value:.1f}" for value in handles))
    return "".join(parts) + "Z"
