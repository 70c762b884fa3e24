"""What is refused of standard additions before anything is computed, told whole: who it concerns and what to do."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import Shot, bench_of, portion_of, run_of
from tests.compute.test_run_additions import ONE, around, by_additions, series, tubes

from benchseal.compute.run_work import work_run
from benchseal.records.results import RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion

REMEDY = "Correct the preparation, the entry at the instrument or the method."
READ = ("0.0117", "0.0116", "0.0118")


def refused(shots: Sequence[Shot], portions: Sequence[Portion], method: Method | None = None) -> list[tuple[str, str]]:
    """Place and words of every problem of additions."""
    found = work_run(run_of(around(*shots), method or by_additions()), bench_of(portions))
    if isinstance(found, RunWork):
        return []
    assert {one.code for one in found} == {"compute.additions"}, found
    assert {one.remedy for one in found} == {REMEDY}
    return [(one.where, one.what) for one in found]


@pytest.mark.parametrize("kind", ["sample", "duplicate", "spiked_sample"])
def test_a_method_that_requires_additions_requires_them_of_every_portion_of_a_sample(kind: Any) -> None:  # noqa: ANN401
    portions = [portion_of("A"), portion_of("V", kind=kind, spike_of="A" if kind == "spiked_sample" else "")]
    found = refused([Shot("sample", "V", portion="V", signals=READ)], portions, by_additions(additions="required"))
    assert found == [("invented.txt, Pb, position 10", "'V' has no additions, which method pb-furnace requires.")]


def test_a_blank_needs_none() -> None:
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = [Shot("method_blank", "MB", portion="MB", signals=READ), *series("W", 4.0)]
    assert refused(shots, [blank, ONE], by_additions(additions="required")) == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param(
            {"label": "Wz"}, "'Wz' is none of the tubes of portion W: W, Wa, Wb, Wc.", id="a label of no tube"
        ),
        pytest.param(
            {"dilution": "2"},
            "'Wa' is diluted 2 times, and additions are entered for the solution measured.",
            id="diluted afterwards",
        ),
        pytest.param({"label": "W"}, "'W' was read before in this run.", id="read twice"),
    ],
)
def test_a_tube_that_cannot_be_one_is_named(changes: dict[str, Any], words: str) -> None:
    shots = list(series("W", 4.0))
    shots[1] = replace(shots[1], **changes)
    assert refused(shots, [ONE]) == [("invented.txt, Pb, position 11", words)]


def test_an_addition_under_a_method_without_them_is_refused_and_a_tube_without_one_is_a_solution() -> None:
    plain = by_additions(additions="")
    words = "{!r} holds an addition, which method pb-furnace does not evaluate."
    assert refused(series("W", 4.0), [ONE], plain) == [
        (f"invented.txt, Pb, position {at}", words.format(label)) for at, label in ((11, "Wa"), (12, "Wb"), (13, "Wc"))
    ]
    assert refused(series("W", 4.0)[:1], [ONE], plain) == []


def test_the_same_label_in_another_portion_is_another_tube() -> None:
    """Two portions whose tubes are called alike."""
    other = portion_of("V", additions={"Pb": tubes("W")["Pb"]})
    shots = [*series("W", 4.0), *(replace(one, portion="V") for one in series("W", 4.0))]
    assert refused(shots, [ONE, other]) == []


def test_additions_below_one_millionth_are_additions() -> None:
    small = portion_of("W", additions=tubes("W", ("0", "0.0000001", "0.0000002")))
    assert [what for _, what in refused(series("W", 4.0)[:2], [small], by_additions(additions=""))] == [
        "'Wa' holds an addition, which method pb-furnace does not evaluate."
    ]
