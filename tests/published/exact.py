"""Exact arithmetic to compare with: fractions, and square roots to 80 digits. Nothing of the program is used."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from itertools import pairwise
from math import inf, log10
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

Matrix: TypeAlias = list[list[Fraction]]

_WIDE = Context(prec=80)


def root(of: Fraction) -> Fraction:
    """Square root to 80 digits."""
    return Fraction(_WIDE.sqrt(_WIDE.divide(Decimal(of.numerator), Decimal(of.denominator))))


def digits_of(value: float, true: Fraction) -> float:
    """Decimal digits on which a float and an exact number agree; absolute where the exact one is zero."""
    apart = abs(Fraction(value) - true) / (abs(true) or 1)
    return inf if apart == 0 else -log10(apart)


def summary(values: Sequence[Fraction]) -> tuple[Fraction, Fraction, Fraction]:
    """Mean, standard deviation with n - 1, correlation of each value with the next as NIST StRD defines it."""
    n = len(values)
    mean = sum(values, Fraction(0)) / n
    away = [value - mean for value in values]
    squares = sum((one * one for one in away), Fraction(0))
    following = sum((one * other for one, other in pairwise(away)), Fraction(0))
    return mean, root(squares / (n - 1)), following / squares


@dataclass(frozen=True)
class Exact:
    """Weighted least squares: coefficients, inverse of X'WX, sum of w r^2, points less coefficients."""

    coefficients: list[Fraction]
    inverse: Matrix
    squares: Fraction
    df: int

    @property
    def variance(self) -> Fraction:
        """Residual variance of a reading of weight 1."""
        return self.squares / self.df

    def covariance(self, *, known: bool = False) -> Matrix:
        """Covariance of the coefficients; ``known`` where the weights are 1/u^2."""
        scale = Fraction(1) if known else self.variance
        return [[scale * one for one in row] for row in self.inverse]


def least_squares(
    x: Sequence[Fraction], y: Sequence[Fraction], weights: Sequence[Fraction], powers: Sequence[int]
) -> Exact:
    """Normal equations, which in exact arithmetic lose nothing."""
    design = [[one**power for power in powers] for one in x]
    normal = [[_dot(weights, design, i, j) for j in range(len(powers))] for i in range(len(powers))]
    right = [
        sum((w * row[i] * b for w, row, b in zip(weights, design, y, strict=True)), Fraction(0))
        for i in range(len(powers))
    ]
    inverse = _inverted(normal)
    coefficients = [sum((one * b for one, b in zip(row, right, strict=True)), Fraction(0)) for row in inverse]
    fitted = [sum((c * one for c, one in zip(coefficients, row, strict=True)), Fraction(0)) for row in design]
    squares = sum((w * (b - f) ** 2 for w, b, f in zip(weights, y, fitted, strict=True)), Fraction(0))
    return Exact(coefficients, inverse, squares, len(x) - len(powers))


def _dot(weights: Sequence[Fraction], design: Matrix, i: int, j: int) -> Fraction:
    return sum((w * row[i] * row[j] for w, row in zip(weights, design, strict=True)), Fraction(0))


def _inverted(matrix: Matrix) -> Matrix:
    """Inverse of a positive definite matrix by Gauss and Jordan."""
    size = len(matrix)
    work = [[*row, *(Fraction(int(i == j)) for j in range(size))] for i, row in enumerate(matrix)]
    for k in range(size):
        work[k] = [one / work[k][k] for one in work[k]]
        for i in range(size):
            if i != k:
                factor = work[i][k]
                work[i] = [one - factor * other for one, other in zip(work[i], work[k], strict=True)]
    return [row[size:] for row in work]
