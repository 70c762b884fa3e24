"""What has to be read or prepared again after a run, why, and what belongs to it: a list for the bench.

It decides nothing: the record says what has no value. A presented solution stands in the list when neither it nor
another reading of its portion gives a value, or when something keeps the result of its sample back that concerns this
portion. What a new run needs around it is in ``reread_with.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.reread_dilution import Dilution, dilution_of
from benchseal.compute.reread_reading import curve_stands
from benchseal.compute.reread_solutions import Solution, presented_of, telling
from benchseal.compute.run_numbers import exact_text
from benchseal.compute.run_verdict import run_failures, sample_check_failures
from benchseal.records.results import NotReportable

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.compute.run_portions import PortionKey
    from benchseal.records.preparation import Portion
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import RunWork, WorkedPortion, WorkedResult
    from benchseal.records.run import Run, SolutionKind

Action: TypeAlias = Literal["measure_run_again", "prepare_again", "dilute", "read_again", "complete_record"]

# What each reason asks for. The gravest first where a portion has several.
ACTIONS: dict[str, Action] = {
    "run.calibration": "measure_run_again",
    "run.check": "measure_run_again",
    "calibration.unusable": "measure_run_again",
    "portion.not-determined": "prepare_again",
    "portions.too-few": "prepare_again",
    "portions.disagree": "prepare_again",
    "blank.dilution": "prepare_again",
    "acid.differs": "prepare_again",
    "additions.no-line": "prepare_again",
    "additions.scatter": "prepare_again",
    "additions.slope": "prepare_again",
    "additions.beyond": "prepare_again",
    "reading.over-range": "dilute",
    "dilution.disagrees": "dilute",
    "additions.incomplete": "read_again",
    "bracketing.open": "read_again",
    "bracketing.not-rising": "read_again",
    "bracketing.outside": "read_again",
    "bracketing.wide": "read_again",
    "bracketing.changed": "read_again",
    "reading.missing": "read_again",
    "reading.excluded": "read_again",
    "reading.scatter": "read_again",
    "reading.background": "read_again",
    "reading.no-root": "read_again",
    "reading.negative": "read_again",
    "reading.contradicted": "read_again",
    "bracket.failed": "read_again",
    "bracket.open": "read_again",
    "bracket.too-long": "read_again",
    "carry-over.failed": "read_again",
    "drift.open": "read_again",
    "drift.no-span": "read_again",
    "drift.too-large": "read_again",
    "drift.check-failed": "read_again",
    "blank.missing": "read_again",
    "portion.not-measured": "read_again",
    "portions.several-batches": "read_again",
    "portion.incomplete": "complete_record",
    "specification.unit": "complete_record",
    "specification.basis": "complete_record",
    "uncertainty.zero": "complete_record",
}
_GRAVEST: tuple[Action, ...] = ("measure_run_again", "prepare_again", "dilute", "read_again", "complete_record")
_NOT_USED = "portion.not-used"
# Reasons of a whole result: they concern each portion of its sample, though each gives a number.
_OF_A_SAMPLE = frozenset(
    {"portions.several-batches", "portions.disagree", "dilution.disagrees", "acid.differs", "uncertainty.zero"}
)
_OF_THE_RECORD = frozenset({"portion.incomplete", "specification.unit", "specification.basis"})


@dataclass(frozen=True, slots=True)
class Beside:
    """What else is known at the site.

    portions: every portion of the batches read in the run. wanted: result to how many portions its specification asks.
    results, readings: results and portions that have a value in other runs, and in which. absent: portions of samples
    of which the run read nothing at all, by ``reread_absent``.
    """

    portions: Mapping[PortionKey, Portion]
    wanted: Mapping[str, int]
    results: Mapping[str, tuple[str, ...]]
    readings: Mapping[PortionKey, tuple[str, ...]]
    absent: tuple[Again, ...] = ()


@dataclass(frozen=True, slots=True)
class Again:
    """One portion without a value. positions: where it was presented; empty for one that was not read, or is lacking.

    portion: its label, empty for a further portion that has to be prepared. extra_dilution: at the instrument, of the
    reading that ``code`` and ``why`` are of. over, background: it lies above the highest standard, it has more
    background than the method allows, whatever else is the reason. needed: a result lacks it, or it is the laboratory's
    own; else the sample has all its results. value_in: other runs that have its value: nothing more is to be done.
    """

    action: Action
    positions: tuple[int, ...]
    batch: str
    portion: str
    sample: str
    kind: SolutionKind
    code: str
    why: str
    extra_dilution: PlainDecimal
    over: bool
    background: bool
    dilution: Dilution | None
    needed: bool
    value_in: tuple[str, ...]

    @property
    def key(self) -> PortionKey:
        """Batch and label."""
        return self.batch, self.portion


@dataclass(frozen=True, slots=True)
class Failure:
    """Why the run as a whole is not usable. takes_values: no solution of it keeps its value."""

    code: str
    why: str
    takes_values: bool


@dataclass(frozen=True, slots=True)
class Settled:
    """A reading without a value whose portion has one from another position of the run."""

    position: int
    portion: str
    why: str
    by_position: int
    by_dilution: PlainDecimal


@dataclass(frozen=True, slots=True)
class NearTop:
    """A solution in range, above 90 % of the highest standard (EPA 200.9, 11.4.9 dilutes it)."""

    position: int
    portion: str
    concentration: PlainDecimal


@dataclass(frozen=True, slots=True)
class Reread:
    """The list. again: in presented order, then what was not read. presented: how many solutions were."""

    presented: int
    failures: tuple[Failure, ...]
    again: tuple[Again, ...]
    settled: tuple[Settled, ...]
    near_top: tuple[NearTop, ...]

    @property
    def open(self) -> tuple[Again, ...]:
        """What is needed and no other run has a value of."""
        return tuple(one for one in self.again if one.needed and not one.value_in)

    @property
    def is_done(self) -> bool:
        """Whether nothing has to be read or prepared again, whatever has no value here."""
        return not self.open and all(one.takes_values for one in self.failures)


def reread(run: Run, work: RunWork, beside: Beside) -> Reread:
    """What ``run`` leaves to be read or prepared again; ``work`` is made from it."""
    solutions = presented_of(run, work, beside.portions)
    counted = {one.key: one for one in solutions if one.void is None and one.stands}
    again = (*_lost(run, work, beside, solutions, counted), *_kept_back(work, beside, counted))
    read = {one.key for one in solutions}
    ordered = sorted(again, key=lambda one: one.positions)
    return Reread(
        presented=len(solutions),
        failures=_failures(run, work),
        again=(*ordered, *_not_presented(work, beside, read), *beside.absent),
        settled=tuple(
            Settled(
                one.position, one.key[1], one.void.why, counted[one.key].position, exact_text(counted[one.key].extra)
            )
            for one in solutions
            if one.void is not None and one.key in counted and one.void.code != _NOT_USED
        ),
        near_top=tuple(
            NearTop(one.position, one.key[1], one.look.concentration)
            for one in solutions
            if one.look.near_top and (one.void is None or one.void.code != _NOT_USED)
        ),
    )


def portions_with_value(run: Run, work: RunWork) -> frozenset[PortionKey]:
    """Portions of which ``run`` has a reading that counts."""
    void = {row.position for row in work.voided}
    places = zip(run.document.solutions.position, run.portion, strict=True)
    return frozenset(key for position, key in places if key[1] and position not in void)


def _failures(run: Run, work: RunWork) -> tuple[Failure, ...]:
    """What fails the run, from the checks of record; then what keeps certificates from it though values stay."""
    rules = run.method.checks
    curve = [one for one in work.checks if one.check == "calibration"]
    checks = {rule.id: tuple(one for one in work.checks if one.rule == rule.id) for rule in rules}
    taken = [Failure(one.code, one.why, takes_values=True) for one in run_failures(rules, curve, checks)]
    kept = [Failure("run.check", why, takes_values=False) for why in sample_check_failures(rules, checks)]
    return tuple(dict.fromkeys((*taken, *kept)))


def _lost(
    run: Run, work: RunWork, beside: Beside, solutions: Sequence[Solution], counted: Mapping[PortionKey, Solution]
) -> Iterator[Again]:
    """Portions of which no reading gives a value, each once."""
    readings: dict[PortionKey, list[Solution]] = {}
    for one in solutions:
        if one.key not in counted:
            readings.setdefault(one.key, []).append(one)
    stands = curve_stands(work)
    for key, own in readings.items():
        told = telling(own)
        portion = beside.portions.get(key)
        code, why = _reason_of(told, portion)
        suggestion = None
        if told.look.over and stands and told.kind != "method_blank" and not told.of_series:
            suggestion = dilution_of(run.method, work.calibration, told.look, told.extra)
        sample = "" if portion is None else portion.sample
        yield Again(
            action=_action(told, code),
            positions=tuple(one.position for one in own),
            batch=key[0],
            portion=key[1],
            sample=sample,
            kind=told.kind,
            code=code,
            why=why,
            extra_dilution=exact_text(told.extra),
            over=told.look.over,
            background=told.look.background,
            dilution=suggestion,
            needed=portion is None or not _of_a_sample(portion) or bool(_results_lacking(work, sample)),
            value_in=_value_in(work, beside, key, sample),
        )


def _reason_of(told: Solution, portion: Portion | None) -> tuple[str, str]:
    """A portion that is lost cannot be read again, whatever its bracket or its run says of the reading."""
    if portion is not None and portion.not_determined:
        return "portion.not-determined", f"not determined: {portion.not_determined}"
    return ("", "") if told.void is None else (told.void.code, told.void.why)


def _action(told: Solution, code: str) -> Action:
    action = ACTIONS.get(code, "read_again")
    if action == "measure_run_again" or code == "portion.not-determined":
        return action
    if told.look.over or told.look.background:  # of a blank that is no matter of dilution; additions are made anew
        return "prepare_again" if told.kind == "method_blank" or told.of_series else "dilute"
    return action


def _kept_back(work: RunWork, beside: Beside, counted: Mapping[PortionKey, Solution]) -> Iterator[Again]:
    """Portions with a reading that counts, and yet without a value: each once, for its gravest reason."""
    found: dict[PortionKey, dict[tuple[str, str], None]] = {}
    for result in work.results:
        if isinstance(result.outcome, NotReportable):
            for row in result.portions:
                key = (row.batch, row.portion)
                reason = _reason(result.outcome, row, counted) if key in counted else None
                if reason is not None and row.position == counted[key].position:
                    found.setdefault(key, {})[reason] = None
    for key, reasons in found.items():
        one, portion = counted[key], beside.portions[key]
        code, why = min(reasons, key=lambda reason: _GRAVEST.index(_of_the_sample(reason[0], portion)))
        yield Again(
            action=_of_the_sample(code, portion),
            positions=(one.position,),
            batch=key[0],
            portion=key[1],
            sample=portion.sample,
            kind=one.kind,
            code=code,
            why=why,
            extra_dilution=exact_text(one.extra),
            over=False,
            background=False,
            dilution=None,
            needed=True,
            value_in=_value_in(work, beside, key, portion.sample),
        )


def _of_the_sample(code: str, portion: Portion) -> Action:
    """An acid content that nobody entered is a matter of the record; one that differs, of the solution."""
    return "complete_record" if code == "acid.differs" and not portion.acid_percent else ACTIONS[code]


def _reason(
    outcome: NotReportable, row: WorkedPortion, counted: Mapping[PortionKey, Solution]
) -> tuple[str, str] | None:
    """Why a portion whose reading counts serves no result; None where it does, and others are the matter.

    A row of record has no code. Without a value it has its quantification limit when only the blank is lacking, and
    none when mass, volume, unit or basis do not lead to the result.
    """
    if row.value:
        return (outcome.code, outcome.why) if outcome.code in _OF_A_SAMPLE else None
    if not row.quantification_limit:
        return outcome.code if outcome.code in _OF_THE_RECORD else "portion.incomplete", row.why
    blank = any(key[0] == row.batch and one.kind == "method_blank" for key, one in counted.items())
    return "blank.dilution" if blank else "blank.missing", row.why


def _not_presented(work: RunWork, beside: Beside, read: set[PortionKey]) -> Iterator[Again]:
    """Portions a result still needs: those prepared and not read, then lost ones, then such as nobody prepared."""
    done: set[tuple[str, int]] = set()
    for result in work.results:
        if isinstance(result.outcome, NotReportable) and result.outcome.code not in _OF_A_SAMPLE:
            for place, one in enumerate(_lacking(work, beside, result, read)):
                if (result.sample, place) not in done:
                    done.add((result.sample, place))
                    yield one


def _lacking(work: RunWork, beside: Beside, result: WorkedResult, read: set[PortionKey]) -> Iterator[Again]:
    keys = {(row.batch, row.portion): row for row in result.portions}
    asked = beside.wanted.get(result.result_id, len(keys))
    lost = {key for key in keys if key in beside.portions and beside.portions[key].not_determined}
    unread = sorted((key for key in keys if key not in read), key=lambda key: key in lost)  # else in their order
    further = (result.portions[0].batch, "")
    for place in range(asked - (len(keys) - len(unread))):
        key = unread[place] if place < len(unread) else further
        code, why = "portions.too-few", f"{len(keys)} of {asked} portions were prepared"
        if key in keys:
            code = "portion.not-determined" if key in lost else "portion.not-measured"
            why = keys[key].why
        yield Again(
            action=ACTIONS[code],
            positions=(),
            batch=key[0],
            portion=key[1],
            sample=result.sample,
            kind=beside.portions[key].kind if key in beside.portions else "sample",
            code=code,
            why=why,
            extra_dilution="1",
            over=False,
            background=False,
            dilution=None,
            needed=True,
            value_in=_value_in(work, beside, key, result.sample),
        )


def _value_in(work: RunWork, beside: Beside, key: PortionKey, sample: str) -> tuple[str, ...]:
    """Other runs with the value: of every result this run fails to give of the sample, else of the portion itself."""
    lacking = _results_lacking(work, sample)
    if not lacking or not _of_a_sample(beside.portions.get(key)):
        return beside.readings.get(key, ())
    every = [beside.results.get(name, ()) for name in lacking]
    return tuple(dict.fromkeys(run for runs in every for run in runs)) if all(every) else ()


def _results_lacking(work: RunWork, sample: str) -> list[str]:
    return [one.result_id for one in work.results if one.sample == sample and isinstance(one.outcome, NotReportable)]


def _of_a_sample(portion: Portion | None) -> bool:
    """Whether results are made of it; of one that nobody prepared yet they would be."""
    return portion is None or portion.kind in {"sample", "duplicate"}
