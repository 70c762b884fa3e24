"""Invented runs whose instrument drifts between its check pairs, for tests; never evidence that a number is right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from tests.compute.making import Shot, bench_of, pb_method, portion_of, requirement_of, run_of, standards

from benchseal.compute.run_work import work_run
from benchseal.records.method import DriftPlan
from benchseal.records.results import NotReportable, RunWork

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import WorkedPortion, WorkedResult
    from benchseal.records.run import Run

OFFSET, SLOPE = 0.0015, 0.00293  # of the invented curve, A s and A s per ug/L
CHECK = 10.0
OPEN = requirement_of(upper="", decimals=-1)
TWO = replace(OPEN, portions=2)
W = portion_of("W")


@dataclass(frozen=True, slots=True)
class State:
    """The instrument of a moment: sensitivity against that of the calibration, and what it adds to every signal."""

    gain: float = 1.0
    zero: float = 0.0

    def signal(self, holds: float) -> float:
        return OFFSET + self.zero + SLOPE * holds * self.gain


NEW = State()


def drifting(limit: str = "10", **changes: Any) -> Method:  # noqa: ANN401  fields of a record by name
    """The furnace line, corrected for drift."""
    return pb_method(drift=DriftPlan(limit, "common practice, no source" if limit else ""), **changes)


def around(signal: float, spread: float = 0.00004, count: int = 3) -> tuple[str, ...]:
    """Readings about a signal, which is their mean to the last of twelve places."""
    steps = {3: (-1.0, 0.25, 0.75), 4: (-1.0, 0.25, 0.25, 0.5)}[count]
    return tuple(f"{signal + by * spread:.12f}" for by in steps)


def check(state: State = NEW, **fields: Any) -> Shot:  # noqa: ANN401  fields of a record by name
    return Shot("check_standard", "CS", **({"signals": around(state.signal(CHECK), 0.0001)} | fields))


def zero(state: State = NEW, **fields: Any) -> Shot:  # noqa: ANN401
    return Shot("check_blank", "CB", **({"signals": around(state.signal(0.0), 0.00002)} | fields))


def pair(state: State = NEW) -> tuple[Shot, ...]:
    """A check standard and a check blank."""
    return check(state), zero(state)


def sample(label: str, holds: float, state: State = NEW, **fields: Any) -> Shot:  # noqa: ANN401
    """A portion's solution."""
    usual: dict[str, Any] = {"portion": label, "signals": around(state.signal(holds))} | fields
    return Shot(usual.pop("kind", "sample"), label, **usual)


def shots_of(*shots: Shot) -> tuple[Shot, ...]:
    """After a calibration, whose levels scatter a little."""
    return (*standards(), *shots)


def timed(run: Run, seconds: Sequence[int | None]) -> Run:
    """``run`` with the time of each solution's readings, 10 seconds between two; None for a solution without."""
    columns, taken = run.document.solutions, []
    for count, start in zip(columns.reading_count, seconds, strict=True):
        for nth in range(count):
            at = 0 if start is None else start + 10 * nth
            text = f"2026-03-02T{9 + at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d}"
            taken.append("" if start is None else text)
    readings = replace(run.document.readings, taken_at=tuple(taken))
    return replace(run, document=replace(run.document, readings=readings))


def worked(
    shots: Sequence[Shot],
    portions: Sequence[Portion] = (W,),
    method: Method | None = None,
    asked: Sequence[Any] = (OPEN,),
    hidden: Iterable[int] = (),
) -> RunWork:
    """What the calculation gives of ``shots`` after a calibration."""
    found = work_run(run_of(shots_of(*shots), method or drifting(), hidden), bench_of(portions, asked))
    assert isinstance(found, RunWork), found
    return found


def only(work: RunWork) -> WorkedResult:
    """The one result."""
    (result,) = work.results
    return result


def row(work: RunWork, place: int = 0) -> WorkedPortion:
    """A portion of the one result."""
    return only(work).portions[place]


def why(result: WorkedResult) -> tuple[str, str]:
    """Code and words of what keeps a result."""
    assert isinstance(result.outcome, NotReportable), result.outcome
    return result.outcome.code, result.outcome.why
