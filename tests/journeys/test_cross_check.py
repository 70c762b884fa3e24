"""A result of the demo drawn again through the command line: beside its record, which it never touches."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST

from benchseal.compute.cross_check import Asked
from benchseal.compute.explain_around import Around
from benchseal.desk import cross_checks
from benchseal.desk.bench import bench_at
from benchseal.desk.cross_checks import drawn_again
from benchseal.desk.reading import load, sample_of_lot
from benchseal.problems import Stopped
from benchseal.records.results import Quantified, RunWork
from benchseal.records.run import Run
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from tests.conftest import Stage
    from tests.journeys.commands import Line

    from benchseal.store.protocol import Reading

RUN, LOT = "R-00003", "A-1"


def test_a_result_is_drawn_again_and_nothing_is_kept(reader: Line) -> None:
    before = reader.kept()
    plain = reader("run", "explain", RUN, LOT)
    told = reader("run", "explain", RUN, LOT, "--monte-carlo", "20000", "--seed", "7")
    assert told.code == 0, told.err
    assert told.out.startswith(plain.out)
    more = " ".join(told.out[len(plain.out) :].split())
    assert "Monte Carlo cross-check (JCGM 101, from memory): lead, content in µg/g" in more
    assert "no part of the record, stored nowhere" in more
    assert "20000 trials from seed 7" in more
    assert "Verdict: " in more
    assert reader("run", "explain", RUN, LOT, "--monte-carlo", "20000", "--seed", "7").out == told.out
    assert reader("run", "explain", RUN, LOT, "--monte-carlo", "20000", "--seed", "8").out != told.out
    assert reader.kept() == before


def test_programs_get_the_numbers(reader: Line) -> None:
    found = reader("run", "explain", RUN, LOT, "--monte-carlo", "--json").json
    (drawn,) = found["monte_carlo"]
    (result,) = found["results"]
    assert (drawn["trials"], drawn["seed"], drawn["recorded"]) == (200_000, 1, False)
    assert drawn["value"] == float(result["outcome"]["value"])
    assert drawn["u"] == float(result["outcome"]["u"])
    low, high = drawn["interval_symmetric"]
    assert low < drawn["value"] < high
    assert drawn["validated"] in {True, False, None}
    assert found["lines"][-1].startswith("  within the reported value ± U")
    assert "monte_carlo" not in reader("run", "explain", RUN, LOT, "--json").json


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--monte-carlo", "10"), "monte-carlo.trials"),
        (("--monte-carlo", "5000", "--seed", "-1"), "monte-carlo.seed"),
        (("--seed", "4"), "monte-carlo.seed-alone"),
    ],
)
def test_bad_trials_and_seeds_are_said_before_anything_is_opened(line: Line, words: tuple[str, ...], code: str) -> None:
    answer = line("run", "explain", RUN, LOT, *words)
    assert answer.code == 4
    assert answer.err.startswith(f"{code}:")
    assert answer.out == ""


def test_a_sample_whose_results_are_all_below_their_limit_is_refused_by_name(line: Line) -> None:
    found = line("run", "list", "--json", by=(ANALYST,)).json["runs"]
    for run in (str(one["run"]) for one in found):
        shown = line("run", "show", run, "--json", by=(ANALYST,)).json["work"]["results"]
        by_sample: dict[str, set[str]] = {}
        for one in shown:
            by_sample.setdefault(one["sample"], set()).add(one["outcome"]["kind"])
        below = [sample for sample, kinds in by_sample.items() if kinds == {"below_limit"}]
        if below:
            answer = line("run", "explain", run, below[0], "--monte-carlo", "1000", by=(ANALYST,))
            assert answer.code == 5
            assert "monte-carlo.not-covered:" in answer.err
            assert "reported as below its limit" in answer.err
            assert answer.out == ""
            return
    pytest.fail("the demo has no sample that is below its limit in every result")


def around(view: Reading) -> Around:
    row, of = view.row("run", run=RUN), sample_of_lot(view, LOT)
    assert row is not None
    work, run = load(view, RunWork, row["work"]), load(view, Run, row["bound"])
    (result,) = [one for one in work.results if one.sample == of["sample"]]
    return Around(RUN, run, work, load(view, Specification, result.specification.digest), of["sample"], of["lot"])


def test_a_calculation_that_is_no_longer_that_of_the_record_is_not_drawn(stage: Stage) -> None:
    """As if the record said another value than preparation and standards give now."""
    with stage.site.store.reading() as view:
        of = around(view)
        ((_, found),) = drawn_again(view, stage.site.ledger, of, Asked(1000, 1))
        assert not isinstance(found, str)
        (result,) = of.results
        assert isinstance(result.outcome, Quantified)
        other = replace(result, outcome=replace(result.outcome, value="0.0670000000000"))
        changed = replace(of, work=replace(of.work, results=(other,)))
        with pytest.raises(Stopped) as stop:
            drawn_again(view, stage.site.ledger, changed, Asked(1000, 1))
    (notice,) = stop.value.notices
    assert notice.code == "monte-carlo.differs-now"


def test_a_run_that_cannot_be_calculated_any_more_says_why(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    with stage.site.store.reading() as view:
        of = around(view)
        bench = bench_at(view, stage.site.ledger, of.run)
        monkeypatch.setattr(cross_checks, "bench_at", lambda *_: replace(bench, lots={}))
        with pytest.raises(Stopped) as stop:
            drawn_again(view, stage.site.ledger, of, Asked(1000, 1))
    assert all(notice.code.startswith("compute.") for notice in stop.value.notices)


def test_the_store_is_only_read(reader: Line) -> None:
    """Also byte for byte: no table of the site's database changes."""

    def dump() -> list[str]:
        with closing(sqlite3.connect(next(reader.site.glob("*.sqlite*")))) as database:
            return [row for row in database.iterdump() if "session" not in row]

    before = dump()
    assert reader("run", "explain", RUN, LOT, "--monte-carlo", "1000").code == 0
    assert dump() == before
