"""Runs whose calibration is made to order: levels, signal and scatter; invented, never evidence of a number."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, run_of, samples

from benchseal.compute.run_work import work_run
from benchseal.records.method import Standard
from benchseal.records.results import RunWork
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.known import Bench
    from benchseal.records.method import Method
    from benchseal.records.results import CheckVerdict, Diagnostic
    from benchseal.records.run import Run

SPREAD = 0.00004
FIVE = (-1.0, -0.4, 0.1, 0.5, 0.8)  # of one standard deviation or so, about zero


def bench() -> Bench:
    return bench_of([portion_of("A"), portion_of("B", "S-00002")])


def method_with(levels: Sequence[str] | None = None, **plan: object) -> Method:
    usual = pb_method()
    changed = replace(usual.calibration, **plan)  # type: ignore[arg-type]
    if levels is None:
        return pb_method(calibration=changed)
    found = tuple(Standard(f"S{place}", level) for place, level in enumerate(levels))
    return pb_method(calibration=changed, standards=found, lowest_level=next(one for one in levels if float(one)))


def shots_of(method: Method, signal: Any, spread: Any, readings: Sequence[float] = FIVE) -> tuple[Shot, ...]:  # noqa: ANN401  two functions of a concentration
    """The calibration: readings at ``signal(c) + spread(c) r``."""
    return tuple(
        Shot(
            "standard",
            one.label,
            signals=tuple(
                f"{signal(float(one.concentration)) + spread(float(one.concentration)) * r:.9f}" for r in readings
            ),
            nominal=one.concentration,
        )
        for one in method.standards
    )


def straight(c: float) -> float:
    return 0.0015 + 0.00293 * c


def growing(c: float) -> float:
    return 0.00004 + 0.00002 * c


def worked(run: Run) -> RunWork:
    found = work_run(run, bench())
    assert isinstance(found, RunWork), found
    assert read_record(RunWork, record_bytes(found)) == found
    return found


def whole(method: Method, calibration: Sequence[Shot], *middle: Shot) -> Run:
    return run_of((*calibration, *pair(), *(middle or samples("AB")), *pair()), method)


def rule(work: RunWork, name: str) -> CheckVerdict | None:
    return next((one for one in work.checks if one.rule == f"calibration.{name}"), None)


def told(work: RunWork, name: str) -> Diagnostic:
    return next(one for one in work.calibration.diagnostics if one.name == name)


def points_of(shots: Sequence[Shot]) -> tuple[list[float], list[float]]:
    x = [float(shot.nominal) for shot in shots for _ in shot.signals or ()]
    return x, [float(text) for shot in shots for text in shot.signals or ()]


def same(texts: Sequence[str], numbers: Sequence[float]) -> bool:
    return [float(text) for text in texts] == pytest.approx(numbers, rel=1e-10, abs=1e-18)


def bent(c: float) -> float:
    return 0.0015 + 0.00293 * c - 0.00003 * c * c
