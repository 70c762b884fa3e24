"""How long one batched fit of 10 000 calibrations takes, against a bare batched QR of the same systems by numpy.

    .venv/bin/python -m benchmarks.fit_many_runs [--pairs 41] [--runs 10000] [--check]

Each pair runs ``benchseal.compute.fit.fit`` and the floor, one after the other in this process, so that a busy moment
of the machine weighs on both. The floor takes sqrt(w) X stacked as numpy likes it, ``numpy.linalg.qr`` (LAPACK), a
back substitution, and makes the same outputs: coefficients, covariance, residuals, their standard deviation and r
squared. It checks nothing, and its bits are nobody's promise; ``fit`` names a fault for each run that cannot be
fitted, scales by powers of two, and gives each run the same bits in any company. Before anything is timed both must
agree to nine digits. ``--check`` exits 1 when a median ratio is above the goal. The data are invented.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import statistics
import sys
import time
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from benchmarks.timing import load_words, table

from benchseal.compute.fit import POWERS, fit

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.compute.arrays import Array
    from benchseal.compute.fit import Fit, Model

GOAL_RATIO = 3.0
POINTS = 8
MODELS: tuple[Model, ...] = ("line", "quadratic")


class Bare(NamedTuple):
    """What the floor gives; the run is the first axis of each."""

    coefficients: Array
    covariance: Array
    residuals: Array
    residual_sd: Array
    r_squared: Array


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--pairs", type=int, default=41)
    options.add_argument("--runs", type=int, default=10_000)
    options.add_argument("--check", action="store_true", help="exit 1 above the goal")
    asked = options.parse_args()
    before = load_words()
    rows, worst = [], 0.0
    for model in MODELS:
        x, y, w = _calibrations(asked.runs, model)
        own, floor = _own(x, y, w, model), _floor(x, y, w, model)
        _require_alike(own(), floor())
        pairs = [(_seconds(floor), _seconds(own)) for _ in range(asked.pairs)]
        ratio = statistics.median(ours / theirs for theirs, ours in pairs)
        floor_s, own_s = (statistics.median(column) for column in zip(*pairs, strict=True))
        shown = (f"{1e3 * own_s:.2f}", f"{1e3 * floor_s:.2f}", f"{ratio:.2f}", f"{GOAL_RATIO:.0f}")
        rows.append((f"{model}, {POINTS} points", *shown))
        worst = max(worst, ratio)
    print(table(("model", "fit, median ms", "numpy QR, median ms", "median ratio", "goal at most"), rows))
    load = f"load average before {before}, after {load_words()}"
    versions = f"Python {sys.version.split()[0]}, numpy {np.__version__}"
    print(f"{asked.runs} runs in one call, {asked.pairs} pairs each; {load}; {versions}")
    return int(asked.check and worst > GOAL_RATIO)


def _calibrations(runs: int, model: Model) -> tuple[Array, Array, Array]:
    """Invented standards, signals and weights, (points, runs) each."""
    rng = np.random.default_rng(1)
    x = np.linspace(0.0, 5.0, POINTS).reshape(-1, 1) + rng.uniform(0.0, 0.1, (POINTS, runs))
    bend = 0.008 if model == "quadratic" else 0.0
    return x, 0.01 + 0.2 * x - bend * x * x + rng.normal(0.0, 0.002, x.shape), rng.uniform(0.5, 2.0, x.shape)


def _own(x: Array, y: Array, w: Array, model: Model) -> Callable[[], Fit]:
    return lambda: fit(x, y, model, "given", weights=w)


def _floor(x: Array, y: Array, w: Array, model: Model) -> Callable[[], Bare]:
    """The bare solution; its inputs are laid out as (runs, points) before the clock starts."""
    own_x, own_y, own_w = (np.ascontiguousarray(one.T) for one in (x, y, w))
    return lambda: _bare(own_x, own_y, own_w, len(POWERS[model]))


def _bare(x: Array, y: Array, w: Array, terms: int) -> Bare:
    """QR of sqrt(w) X by LAPACK, R b = Q'y, V = s^2 R^-1 R^-T; x, y, w are (runs, points)."""
    root_w = np.sqrt(w)
    design = np.empty((*x.shape, terms))
    design[:, :, 0] = root_w
    for power in range(1, terms):
        design[:, :, power] = design[:, :, power - 1] * x
    q, r = np.linalg.qr(design)
    inverse = _inverse_of_triangle(r)
    right = (q.transpose(0, 2, 1) @ (root_w * y)[:, :, None])[:, :, 0]
    coefficients = np.empty_like(right)
    fitted = np.zeros_like(y)
    for i in reversed(range(terms)):
        coefficients[:, i] = _across(inverse[:, i, i:], right[:, i:])
        fitted = fitted * x + coefficients[:, i, None]
    residuals = y - fitted
    square = np.sum(w * residuals * residuals, axis=1) / (x.shape[1] - terms)
    away = y - (np.sum(w * y, axis=1) / np.sum(w, axis=1))[:, None]
    r_squared = 1.0 - square * (x.shape[1] - terms) / np.sum(w * away * away, axis=1)
    return Bare(coefficients, _covariance(inverse, square), residuals, np.sqrt(square), r_squared)


def _inverse_of_triangle(r: Array) -> Array:
    """R^-1 of each upper triangle (runs, terms, terms), by back substitution over all runs at once."""
    terms = r.shape[1]
    inverse = np.zeros_like(r)
    for k in range(terms):
        inverse[:, k, k] = 1.0 / r[:, k, k]
        for i in reversed(range(k)):
            rest = _across(r[:, i, i + 1 : k + 1], inverse[:, i + 1 : k + 1, k])
            inverse[:, i, k] = -rest / r[:, i, i]
    return inverse


def _covariance(inverse: Array, square: Array) -> Array:
    """s^2 R^-1 R^-T, (runs, terms, terms)."""
    terms = inverse.shape[1]
    covariance = np.empty_like(inverse)
    for i in range(terms):
        for j in range(i, terms):
            covariance[:, i, j] = square * _across(inverse[:, i, j:], inverse[:, j, j:])
            covariance[:, j, i] = covariance[:, i, j]
    return covariance


def _across(left: Array, right: Array) -> Array:
    """Sum of products over the few columns of two (runs, columns): quicker by columns than numpy's sum by rows."""
    total = left[:, 0] * right[:, 0]
    for place in range(1, left.shape[1]):
        total += left[:, place] * right[:, place]
    return total


def _require_alike(own: Fit, bare: Bare) -> None:
    """Both made the same outputs, or there is nothing to compare."""
    if any(own.faults):
        raise RuntimeError("a run could not be fitted")
    np.testing.assert_allclose(own.coefficients, bare.coefficients.T, rtol=1e-9)
    np.testing.assert_allclose(own.covariance, bare.covariance.transpose(1, 2, 0), rtol=1e-9)
    np.testing.assert_allclose(own.residuals, bare.residuals.T, atol=1e-12)
    np.testing.assert_allclose(own.residual_sd, bare.residual_sd, rtol=1e-9)
    np.testing.assert_allclose(own.r_squared, bare.r_squared, rtol=1e-9)


def _seconds(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


if __name__ == "__main__":
    sys.exit(main())
