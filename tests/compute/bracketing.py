"""Invented runs read between two standards, for tests; never evidence that a number is right."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, run_of, standards

from benchseal.compute.run_work import work_run
from benchseal.records.results import NotReportable, RunWork

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import WorkedResult

OFFSET, SLOPE = 0.0015, 0.00293  # of the invented curve, A s and A s per ug/L
LEVELS = (8.0, 10.0, 12.0)
OPEN = requirement_of(upper="", decimals=-1)
W = portion_of("W")


def between(**plan: Any) -> Method:  # noqa: ANN401  fields of a record by name
    """The furnace line, every portion between two standards; no checks of the method's own."""
    usual = {
        "bracketing": "required",
        "bracketing_window_percent": "20",
        "bracketing_source": "common practice, no source",
        **plan,
    }
    return pb_method(calibration=replace(pb_method().calibration, **usual))


def around(signal: float, spread: float = 0.00006, count: int = 3) -> tuple[str, ...]:
    """Readings about a signal."""
    steps = (-1.0, 0.2, 0.8, -0.4, 0.4)
    return tuple(f"{signal + by * spread:.7f}" for by in steps[:count])


def signal(holds: float, gain: float = 1.0) -> float:
    """Of the invented curve, with the sensitivity of the moment."""
    return OFFSET + SLOPE * holds * gain


def standard(holds: float, gain: float = 1.0, label: str = "", **fields: Any) -> Shot:  # noqa: ANN401
    """A bracket standard; the file prints what it holds."""
    usual: dict[str, Any] = {"nominal": f"{holds:g}", "signals": around(signal(holds, gain))} | fields
    return Shot("bracket_standard", label or f"BS{holds:g}", **usual)


def group(gain: float = 1.0, levels: Iterable[float] = LEVELS) -> tuple[Shot, ...]:
    """A standard of each level."""
    return tuple(standard(level, gain) for level in levels)


def sample(label: str, holds: float, gain: float = 1.0, **fields: Any) -> Shot:  # noqa: ANN401
    """A portion's solution."""
    return Shot(fields.pop("kind", "sample"), label, portion=label, signals=around(signal(holds, gain)), **fields)


def run_shots(*shots: Shot) -> tuple[Shot, ...]:
    """Shots after calibration and checks, before the checks that close the run."""
    return (*standards(), *pair(), *shots, *pair())


def worked(
    shots: Sequence[Shot],
    portions: Sequence[Portion] = (W,),
    method: Method | None = None,
    asked: Sequence[Any] = (OPEN,),
    hidden: Iterable[int] = (),
) -> RunWork:
    """What the calculation gives of ``shots`` between calibration and checks."""
    found = work_run(run_of(run_shots(*shots), method or between(), hidden), bench_of(portions, asked))
    assert isinstance(found, RunWork), found
    return found


def only(work: RunWork) -> WorkedResult:
    """The one result."""
    (result,) = work.results
    return result


def why(result: WorkedResult) -> tuple[str, str]:
    """Code and words of what keeps a result."""
    assert isinstance(result.outcome, NotReportable), result.outcome
    return result.outcome.code, result.outcome.why
