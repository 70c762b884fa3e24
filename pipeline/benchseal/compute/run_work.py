"""The calculation of runs: readings to calibration, checks, brackets, results. The room's front door.

The order of judgement is fixed: curve and readings; checks read without preparation; brackets, which void; then
prepared checks on what stands; then results. What fails the run voids every presented solution, so a value never
outlives its calibration or a required check.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.rounding import TooManyDigitsError
from benchseal.compute.run_additions import evaluated
from benchseal.compute.run_bound import bench_problems, fit_problem, size_problem
from benchseal.compute.run_bracketing import between_standards
from benchseal.compute.run_brackets import carried_over, family_of, merged, voided_by
from benchseal.compute.run_calibration import calibration_of, judge_calibration, judge_replicates
from benchseal.compute.run_checks import ON_SAMPLES, SIMPLE_CHECKS, brackets_of, not_evaluated, simple_checks
from benchseal.compute.run_contradiction import contradicted
from benchseal.compute.run_counts import count_findings
from benchseal.compute.run_curve import Solved, solve_runs
from benchseal.compute.run_drift import drift_of, measured_drifted, signals_drifted
from benchseal.compute.run_drift_budget import solved_drifted
from benchseal.compute.run_drift_judged import drift_findings, resting_on_failed
from benchseal.compute.run_gaps import number_findings
from benchseal.compute.run_measured import measured_of
from benchseal.compute.run_portions import choose
from benchseal.compute.run_prepared_checks import prepared_checks, sample_portions
from benchseal.compute.run_results import requirements_of, results_of
from benchseal.compute.run_sensitivity import sensitivity_check
from benchseal.compute.run_signals import Loss, signals_of
from benchseal.compute.run_standards import as_they_were
from benchseal.compute.run_stored import (
    Stored,
    correction_findings,
    correction_problems,
    curve_used,
    judge_confirmed,
    points_used,
    signals_used,
    solved_used,
    stored_curves,
)
from benchseal.compute.run_verdict import (
    bracket_findings,
    lost_samples,
    not_read_words,
    run_failures,
    sample_check_failures,
    tolerated,
)
from benchseal.compute.run_words import CHECK_NAMES
from benchseal.records.results import CALCULATION_RULES, RunWork, Voided

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from benchseal.compute.run_curve import Points
    from benchseal.compute.run_drift import Drifted
    from benchseal.compute.run_measured import Measured
    from benchseal.compute.run_portions import Chosen
    from benchseal.compute.run_signals import Signals
    from benchseal.compute.run_stored import Found
    from benchseal.problems import Problem
    from benchseal.records.known import Bench
    from benchseal.records.method import CheckRule
    from benchseal.records.results import CheckVerdict
    from benchseal.records.run import Run


@dataclass(frozen=True, slots=True, eq=False)
class Worked:
    """One run worked through. work: its record. chosen: the readings that count in it; signals: as they were read.

    stored, drifted: by what signals were corrected, where they were.
    """

    work: RunWork
    chosen: Chosen
    signals: Signals
    stored: Stored | None
    drifted: Drifted | None


def work_run(run: Run, bench: Bench) -> RunWork | tuple[Problem, ...]:
    """Everything the calculation of one valid run gives, or every Problem that keeps it from being made.

    The same run gives the same bytes alone, in ``work_runs``, in any order and in any process.
    """
    return work_runs((run,), bench)[0]


def work_runs(runs: Sequence[Run], bench: Bench) -> tuple[RunWork | tuple[Problem, ...], ...]:
    """``work_run`` of each, in order; runs of equal shape are fitted and inverted together."""
    return work_each([(run, bench) for run in runs])


def work_each(runs: Sequence[tuple[Run, Bench]]) -> tuple[RunWork | tuple[Problem, ...], ...]:
    """``work_runs``, each run with a bench of its own."""
    return tuple(one.work if isinstance(one, Worked) else one for one in _worked(runs))


def worked_run(run: Run, bench: Bench) -> Worked | tuple[Problem, ...]:
    """``work_run`` with what its record was made of, for those who look at one run more closely."""
    return next(_worked([(run, bench)]))


def _worked(runs: Sequence[tuple[Run, Bench]]) -> Iterator[Worked | tuple[Problem, ...]]:
    true = [as_they_were(run, bench) for run, bench in runs]
    asked = [bench for _, bench in runs]
    lacking = [
        (*bench_problems(run, bench), *correction_problems(run)) for (run, _), bench in zip(true, asked, strict=True)
    ]
    able = [(*pair, bench) for pair, bench, problems in zip(true, asked, lacking, strict=True) if not problems]
    ready, benches = [run for run, _, _ in able], [own for _, own, _ in able]
    read = [signals_of(run) for run in ready]
    stored = stored_curves(ready, read)
    signals = [signals_used(found, own) for found, own in zip(stored, read, strict=True)]
    points = [points_used(*one) for one in zip(stored, ready, read, strict=True)]
    drifted = [
        drift_of(run, bench.portions, own, levels)
        for (run, _, bench), own, levels in zip(able, signals, points, strict=True)
    ]
    signals = [signals_drifted(found, own) for found, own in zip(drifted, signals, strict=True)]
    solved = solve_runs(ready, signals, points)
    done = iter(
        found
        if isinstance(found, tuple)
        else _work_or_problem(run, own_bench, own, levels, (found, drift, solved_used(found, curve, own)))
        if isinstance(curve, Solved)
        else (fit_problem(run, curve, levels),)
        for run, own_bench, own, levels, curve, found, drift in zip(
            ready, benches, signals, points, solved, stored, drifted, strict=True
        )
    )
    yield from (problems or next(done) for problems in lacking)


def _work_or_problem(
    run: Run, bench: Bench, signals: Signals, points: Points, curve: tuple[Found, Drifted | None, Solved]
) -> Worked | tuple[Problem, ...]:
    """A number that no record can hold (an absurd reading, mass, dilution or limit) is a Problem of the run."""
    try:
        return _work(run, bench, signals, points, curve)
    except TooManyDigitsError:
        return (size_problem(run),)


def _work(
    run: Run, bench: Bench, signals: Signals, points: Points, found: tuple[Found, Drifted | None, Solved]
) -> Worked:
    method, rules = run.method, run.method.checks
    stored, drifted, solved = found
    solved = solved_drifted(drifted, solved)
    measured = measured_drifted(drifted, measured_of(run, bench, signals, points, solved))
    if isinstance(stored, Stored):
        calibration, curve = curve_used(stored, run, bench, solved, measured)
    else:
        calibration = calibration_of(method, points, solved, measured)
        curve = judge_calibration(method, calibration, solved, measured)
    simple = {rule.id: simple_checks(rule, method, measured) for rule in rules if rule.check in SIMPLE_CHECKS}
    simple |= {one.id: sensitivity_check(one, method, calibration) for one in rules if one.check == "sensitivity"}
    if isinstance(stored, Stored):
        curve = (*curve, judge_confirmed(stored, method, measured, simple))
    reasons = [*_brackets(rules, measured, simple), resting_on_failed(measured, rules, simple)]
    brackets = merged(reasons)
    portions, cautions = evaluated(run, signals, solved, measured)
    suspect = _suspect(rules, measured, simple) if method.calibration.bracketing else {}
    portions, not_used = between_standards(run, calibration, portions, suspect)
    apart = contradicted(method, calibration.highest, measured, {row.position for row in brackets})
    brackets = (*brackets, *apart)
    standing = choose(run, bench, solved, portions, brackets)
    checks = {rule.id: _all_of(rule, standing, simple) for rule in rules}
    failures = run_failures(rules, curve, checks)
    void = merged([_void_all(measured, failures), brackets])
    chosen = choose(run, bench, solved, portions, void) if failures else standing
    lost = lost_samples(rules, checks, portions)
    missing = sample_check_failures(rules, checks)
    curve_readings = _standards_read(stored, signals, points)
    work = RunWork(
        schema="run-work/1",
        calculation_rules=CALCULATION_RULES,
        calibration=calibration,
        checks=(*curve, *judge_replicates(method, measured), *(one for rule in rules for one in checks[rule.id])),
        voided=_voided(chosen, void),
        results=results_of(chosen, lost),
        usable=not failures and not missing,
        findings=_findings(
            (one.why for one in failures),
            missing,
            bracket_findings([row for own in reasons for row in own]),
            (one.why for one in lost.values()),
            (row.why for row in apart),
            tolerated(rules, checks),
            _without_scatter(curve_readings),
            count_findings(method, curve_readings, portions),
            correction_findings(calibration),
            drift_findings(measured, method.signal_unit),
            _unasked(chosen),
            cautions,
            not_used,
            number_findings(run),
        ),
    )
    return Worked(work, chosen, signals, stored if isinstance(stored, Stored) else None, drifted)


def _brackets(
    rules: Sequence[CheckRule], measured: Sequence[Measured], simple: Mapping[str, Sequence[CheckVerdict]]
) -> list[tuple[Voided, ...]]:
    """What each rule's brackets void, each passing or failing by the rule of its own position, and what rinses do."""
    presented = [one.position for one in measured if one.presented]
    places = [(one.position, one.presented) for one in measured]
    rows: list[tuple[Voided, ...]] = []
    for rule in rules:
        if rule.brackets:
            family = brackets_of([one for other in family_of(rule, rules) for one in simple[other.id]])
            rows.append(voided_by(rule, CHECK_NAMES[rule.check], presented, family))
        elif rule.check == "return_to_zero":
            rows.append(carried_over(places, brackets_of(simple[rule.id])))
    return rows


def _suspect(
    rules: Sequence[CheckRule], measured: Sequence[Measured], simple: Mapping[str, Sequence[CheckVerdict]]
) -> dict[int, Loss]:
    """Bracket standards that a failed check beside them or a rinse before them takes, as it takes presented solutions.

    They are not counted for ``every``, and nothing has to close the run after them.
    """
    as_neighbours = [replace(rule, every=0, at_end=False) for rule in rules]
    standards = [replace(one, presented=one.kind == "bracket_standard") for one in measured]
    return {row.position: Loss(row.code, row.why) for row in merged(_brackets(as_neighbours, standards, simple))}


def _all_of(
    rule: CheckRule, standing: Chosen, simple: Mapping[str, tuple[CheckVerdict, ...]]
) -> tuple[CheckVerdict, ...]:
    """Verdicts of one rule; where nothing was read, one that says so. What hidden samples gave is simply absent."""
    found = simple[rule.id] if rule.id in simple else prepared_checks(rule, standing)
    if found or (rule.check in ON_SAMPLES and any(standing.run.hidden)):
        return found
    return (not_evaluated(rule, standing.method, (), not_read_words(rule)),)


def _void_all(measured: Sequence[Measured], failures: Sequence[Loss]) -> tuple[Voided, ...]:
    return tuple(
        Voided(one.position, failure.code, failure.why) for one in measured if one.presented for failure in failures
    )


def _voided(chosen: Chosen, void: Sequence[Voided]) -> tuple[Voided, ...]:
    """Every presented solution without a value: voided ones, then by position what gave none by itself."""
    rows = {
        one.position: Voided(one.position, one.lost.code, one.lost.why)
        for one in chosen.measured
        if one.lost and one.presented
    }
    rows.update((position, Voided(position, loss.code, loss.why)) for position, loss in chosen.lost.items())
    rows.update((row.position, row) for row in void)
    return tuple(row for _, row in sorted(rows.items()))


def _standards_read(stored: Found, signals: Signals, points: Points) -> Sequence[tuple[str, ...]]:
    """Readings of each standard of the curve, of this run or of the earlier one it is from."""
    return stored.signals.texts if isinstance(stored, Stored) else [signals.texts[place] for place in points.places]


def _without_scatter(standards: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """A word on readings of the standards that are equal to the last digit everywhere: real ones scatter somewhere."""
    several = [own for own in standards if len(own) > 1]
    if len(several) < 2 or any(len({Decimal(text) for text in own}) > 1 for own in several):
        return ()
    words = "the readings of each calibration solution are all equal, without any scatter: "
    words += "look whether the instrument repeats one reading or an average, and whether the data were measured at all"
    return (words,)


def _unasked(chosen: Chosen) -> tuple[str, ...]:
    """Samples read although their specification asks nothing of this element and method."""
    samples = dict.fromkeys(sample for sample, _ in sample_portions(chosen))
    return tuple(
        f"the specification of sample {sample} asks nothing of {chosen.element} by method {chosen.method.id}"
        for sample in samples
        if not requirements_of(chosen, sample)
    )


def _findings(*groups: Iterable[str]) -> tuple[str, ...]:
    """Every sentence once, in order."""
    return tuple(dict.fromkeys(sentence for group in groups for sentence in group))
