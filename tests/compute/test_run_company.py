"""Results do not depend on company: alone, batched, shuffled, in another process, or with other customers hidden."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import (
    ALL_RULES,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    run_of,
    samples,
    standards,
)

from benchseal.compute.run_work import work_each, work_run, work_runs
from benchseal.records.canonical import digest
from benchseal.records.results import RunWork
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.known import Bench
    from benchseal.records.run import Run

LABELS = tuple(f"P{place}" for place in range(24))
ROOT = Path(__file__).parents[2]


@cache
def bench() -> Bench:
    """Two portions a sample; samples of even and odd number belong to two customers."""
    own = [portion_of(label, f"S-0000{place // 2}") for place, label in enumerate(LABELS)]
    lab = [
        portion_of("MB", "", kind="method_blank", mass_g=""),
        portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"}),
        portion_of("RM", "", kind="reference_material", expected_ug_per_g={"Pb": "0.40"}),
        portion_of("SP", "S-00000", kind="spiked_sample", spike_of="P0", added_ug={"Pb": "0.125"}),
    ]
    return bench_of([*own, *lab], [requirement_of(portions=2), requirement_of(quantity="concentration", unit="ug/L")])


@cache
def runs() -> tuple[Run, ...]:
    """Runs of many shapes: models, weightings, means and readings, lengths, a failed bracket, an impossible one."""
    found = []
    for number, (model, weighting, fit_on) in enumerate(
        (m, w, f)
        for m in ("line", "quadratic", "line_through_zero")
        for w in ("none", "1/x", "variance_function", "1/s2")
        for f in ("readings", "means")
    ):
        plan = replace(
            pb_method().calibration,
            model=model,  # type: ignore[arg-type]
            weighting=weighting,  # type: ignore[arg-type]
            fit_on=fit_on,  # type: ignore[arg-type]
            quadratic_allowed=model == "line",
            variance_s0="0.0003",
            variance_k="0.00003",
        )
        levels = standards()[1:] if weighting == "1/x" else standards()
        method = pb_method(calibration=plan, standards=pb_method().standards[7 - len(levels) :])
        for turn in (0, 1):
            own = samples(LABELS[: 4 + 2 * (number % 5)], 3.0 + 0.37 * number + 7.0 * turn)
            found.append(run_of((*levels, *pair(), *own, *pair(10.0 if number % 3 else 8.5)), method))
    found.append(run_of((*standards()[:2], *samples("P")), pb_method()))
    return tuple(found)


def own_bench(run: Run) -> Bench:
    """The bench with the portions of one run alone."""
    return replace(bench(), portions={key: one for key, one in bench().portions.items() if key in run.portion})


def prints(works: Sequence[object]) -> list[str]:
    return [digest(record_bytes(work)) if isinstance(work, RunWork) else repr(work) for work in works]


@cache
def alone() -> list[str]:
    """Digest of each run computed by itself."""
    return [prints([work_run(run, bench())])[0] for run in runs()]


def test_alone_and_batched_give_the_same_bytes() -> None:
    assert prints(work_runs(runs(), bench())) == alone()


def test_each_with_a_bench_of_its_own_gives_the_same_bytes() -> None:
    """Each with what it needs and no more; a run whose bench lacks something is alone in being refused."""
    every = runs()
    own = [(run, own_bench(run)) for run in every]
    assert len({len(one.portions) for _, one in own}) > 1
    assert prints(work_each(own)) == alone()
    lacking = replace(own[3][1], portions={})
    found = prints(work_each([*own[:3], (every[3], lacking), *own[4:]]))
    assert found == [*alone()[:3], *prints([work_run(every[3], lacking)]), *alone()[4:]]
    assert found[3] != alone()[3]


@settings(max_examples=10, deadline=None)
@given(st.permutations(range(len(runs()))), st.integers(1, 12))
def test_shuffled_and_cut_into_batches_give_the_same_bytes(order: list[int], size: int) -> None:
    every, known = runs(), bench()
    found: dict[int, str] = {}
    for start in range(0, len(order), size):
        places = order[start : start + size]
        found.update(zip(places, prints(work_runs([every[place] for place in places], known)), strict=True))
    assert [found[place] for place in range(len(every))] == alone()


def test_two_processes_give_the_same_bytes() -> None:
    """Another process, other hash seed: half the runs in one, half in the other."""
    script = (
        "import sys; sys.path[:0] = [{root!r}, {package!r}]\n"
        "from tests.compute.test_run_company import bench, prints, runs\n"
        "from benchseal.compute.run_work import work_runs\n"
        "print('\\n'.join(prints(work_runs(runs()[{half}::2], bench()))))\n"
    )
    halves = []
    for half in (0, 1):
        text = script.format(root=str(ROOT), package=str(ROOT / "pipeline"), half=half)
        done = subprocess.run(  # noqa: S603  our own interpreter and script
            [sys.executable, "-c", text],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": str(half + 7)},
        )
        halves.append(done.stdout.splitlines())
    expected = alone()
    assert halves == [expected[0::2], expected[1::2]]


def mixed_run(hidden: Sequence[int] = ()) -> Run:
    """All checks, two customers' samples in turn, a spike on the first customer's, a bracket that fails."""
    lab = (
        Shot("second_source", "SS", 10.0),
        *pair(),
        Shot("method_blank", "MB", 0.1, "MB"),
        Shot("control_sample", "LC", 9.8, "LC"),
        Shot("reference_material", "RM", 8.2, "RM"),
    )
    first = (*samples(LABELS[:6], 5.0), Shot("spiked_sample", "SP", 9.9, "SP"))
    second = (Shot("sample", "P6", 25.0, "P6"), Shot("sample", "P6", 2.5, "P6", "10"), *samples(LABELS[7:14], 2.0))
    third = samples(LABELS[14:20], 7.0)
    shots = (*standards(), *lab, *first, *pair(), *second, *pair(), *third, *pair(8.7))
    return run_of(shots, pb_method(checks=ALL_RULES), hidden)


def places_of(run: Run, sample: str, known: Bench) -> list[int]:
    return [
        position
        for position, key in zip(run.document.solutions.position, run.portion, strict=True)
        if key in known.portions and known.portions[key].sample not in {"", sample}
    ]


@pytest.mark.parametrize("sample", [f"S-0000{number}" for number in range(10)])
def test_hiding_everybody_else_changes_no_result(sample: str) -> None:
    known, whole = bench(), mixed_run()
    seen = replace(known, portions={key: one for key, one in known.portions.items() if one.sample in {"", sample}})
    full = work_run(whole, known)
    part = work_run(mixed_run(places_of(whole, sample, known)), seen)
    assert isinstance(full, RunWork)
    assert isinstance(part, RunWork)
    wanted = tuple(result for result in full.results if result.sample == sample)
    assert wanted
    assert part.results == wanted
    assert part.calibration == full.calibration
    own = [check for check in full.checks if not check.made_on_sample]
    assert [check for check in part.checks if not check.made_on_sample] == own
    on_sample = [check for check in part.checks if check.made_on_sample]
    assert all(check in full.checks for check in on_sample)
    assert part.usable
    brackets = [row for row in full.voided if row.code.startswith("bracket.")]
    assert [row for row in part.voided if row.code.startswith("bracket.")] == brackets


def test_the_hidden_run_holds_nothing_of_the_others() -> None:
    known, whole = bench(), mixed_run()
    text = record_bytes(work_run(mixed_run(places_of(whole, "S-00001", known)), known)).decode()
    others = [one.sample for one in known.portions.values() if one.sample not in {"", "S-00001"}]
    assert not any(sample in text for sample in others)
    assert not any(f'"{label}"' in text for label in LABELS if label not in {"P2", "P3"})


def test_a_bracket_failed_by_hidden_solutions_alone_still_takes_the_visible_one() -> None:
    """Eleven presented since the last check, ten of them hidden: the eleventh is beyond the limit."""
    shots = (*standards(), *pair(), *samples(LABELS[:11]), *pair())
    known = bench_of([portion_of(label) for label in LABELS[:11]])
    hidden = range(10, 20)
    part = work_run(run_of(shots, hidden=hidden), known)
    assert isinstance(part, RunWork)
    assert [(row.position, row.code) for row in part.voided] == [(20, "bracket.too-long")]
    assert part.results[0].outcome.kind == "not_reportable"


def test_every_work_reads_back() -> None:
    works = [
        work for work in (*work_runs(runs(), bench()), work_run(mixed_run(), bench())) if isinstance(work, RunWork)
    ]
    assert len(works) == len(runs())
    for work in works:
        assert read_record(RunWork, record_bytes(work)) == work
