"""The re-read list of the demo's runs, through the command line and against the run that was made from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchseal.cli.show import SCHEMA_VERSION
from benchseal.compute.reread import Beside, reread
from benchseal.compute.reread_with import new_run
from benchseal.desk.reading import load
from benchseal.records.preparation import Portion
from benchseal.records.results import RunWork
from benchseal.records.run import Run

if TYPE_CHECKING:
    from tests.conftest import Stage
    from tests.journeys.commands import Line


def listed(reader: Line, run: str) -> dict[str, Any]:
    answer = reader("run", "reread", run, "--json")
    assert (answer.code, answer.err) == (0, "")
    assert (answer.json["schema_version"], answer.json["command"], answer.json["problems"]) == (
        SCHEMA_VERSION, "run reread", [],
    )  # fmt: skip
    return answer.json


def test_a_lost_bracket_that_was_read_again_leaves_nothing_to_do(reader: Line) -> None:
    before = reader.kept()
    said = listed(reader, "R-00003")
    assert said["open"] == 0
    assert [one["positions"] for one in said["again"] if one["positions"]] == [[place] for place in range(23, 33)]
    assert {one["code"] for one in said["again"]} == {"bracket.failed", "portion.not-measured"}
    assert {tuple(one["value_in"]) for one in said["again"]} == {("R-00004",)}
    plain = reader("run", "reread", "R-00003")
    assert plain.code == 0
    assert plain.out.splitlines()[2] == "Nothing to read again."
    assert "      23  T-RM          reference material; value in R-00004" in plain.out
    assert reader.kept() == before


def test_over_range_that_was_read_again_in_its_run_is_told_as_that(reader: Line) -> None:
    said = listed(reader, "R-00005")
    assert said["again"] == []
    assert [(one["position"], one["by_position"], one["by_dilution"]) for one in said["settled"]] == [
        (16, 35, "10"), (18, 36, "10"),
    ]  # fmt: skip


def test_a_run_without_a_loss_leaves_nothing(reader: Line) -> None:
    said = listed(reader, "R-00001")
    assert (said["open"], said["again"], said["failures"], said["settled"]) == (0, [], [], [])
    assert "Nothing to read again." in reader("run", "reread", "R-00001").out.splitlines()


def test_an_unknown_run_is_refused(reader: Line) -> None:
    answer = reader("run", "reread", "R-00099")
    assert answer.out == ""
    assert answer.err.startswith("run.unknown: R-00099: there is no such run.")


def test_the_list_is_what_the_second_lead_run_then_read(stage: Stage) -> None:
    """On the evening of the first run nothing else was known. The scenario's second file was written by hand."""
    with stage.site.store.reading() as view:
        first, second = view.row("run", run="R-00003"), view.row("run", run="R-00004")
        assert first is not None
        assert second is not None
        run, work = load(view, Run, first["bound"]), load(view, RunWork, first["work"])
        portions = {
            (row["batch"], row["portion"]): load(view, Portion, row["record"])
            for batch in {batch for batch, _ in run.portion if batch}
            for row in view.rows("portion", batch=batch)
        }
        then = load(view, Run, second["bound"])
    found = reread(run, work, Beside(portions, {}, {}, {}))
    around = new_run(run.method, found.open, portions)
    tray = {one.key for one in found.open} | {(one.batch, one.portion) for one in around.companions}
    assert tray == {key for key in then.portion if key[1]}
    needed = {one.check for one in around.needs}
    assert needed == {"second_source", "check_standard", "check_blank"}
    assert needed <= set(then.document.solutions.kind)
