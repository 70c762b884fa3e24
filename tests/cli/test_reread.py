"""The list for the bench in words: each group, each advice, and nothing where nothing is to be done. Invented runs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import BRACKETS, Shot, pair, pb_method, portion_of, requirement_of, rule, samples
from tests.compute.test_reread import DUPLICATE, HIGH, SPIKED, TWO, A, B, listed, piece

from benchseal.cli.reread import lines
from benchseal.compute.reread_with import new_run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.specification import Requirement

NONE = pb_method(checks=())
WARE = (piece("pipette", "5"), piece("flask", "25"))
SPIKE = pb_method(checks=(rule("spike", low="75", high="125"),))
OVER = Shot("sample", "A", portion="A", signals=HIGH)
DILUTED = Shot("sample", "A", 4.4, portion="A", dilution="10")
SCATTERED = Shot("sample", "A", 5.0, portion="A", scatter=0.5)
BACKGROUND = replace(NONE, conditions=replace(NONE.conditions, largest_background="1.0"))


def said(
    shots: Sequence[Shot],
    portions: Sequence[Portion],
    method: Method = NONE,
    asked: Sequence[Requirement] | None = None,
    elsewhere: Sequence[str] = (),
) -> str:
    found, _, run, beside = listed(shots, portions, method, asked, elsewhere)
    around = new_run(run.method, found.open, beside.portions)
    return "\n".join(lines(found, around, "µg/L", {"S-00001": "L-1"}))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param(said(samples("A"), (A,)), "Nothing to read again.", id="nothing"),
        pytest.param(
            said((OVER,), (A,)), "estimate about 44 µg/L: dilute 5 times, reads about 8.8 µg/L", id="a plain factor"
        ),
        pytest.param(
            said((OVER,), (A,), replace(NONE, uncertainty=replace(NONE.uncertainty, glassware=WARE))),
            "dilute 5 times (5 mL to 25 mL), reads",
            id="with the ware of the method",
        ),
        pytest.param(
            said((OVER, DILUTED), (A,)),
            "read again in this run already\n       8  A  above the highest standard (20 µg/L): position 9, diluted 10",
            id="read again later",
        ),
        pytest.param(
            said((DILUTED, OVER), (A,)),
            "read before in this run, and that reading counts\n       9  A  above the highest standard (20 µg/L): posi",
            id="read before",
        ),
        pytest.param(
            said((*samples("A"), replace(OVER, dilution="10")), (A,)),
            "where a cause is found (another tube, another factor): benchseal run exclude",
            id="a contradiction",
        ),
        pytest.param(said((OVER,), (A,)), "an estimate lies beyond the curve: it", id="an estimate is called one"),
        pytest.param(
            said((OVER,), (A,)), "the middle of the standards, 10 µg/L (common practice, no source)", id="the aim"
        ),
        pytest.param(
            said((replace(OVER, signals=("over",)),), (A,)),
            "no estimate: the instrument gave no number; the aim takes a factor above 2",
            id="no number",
        ),
        pytest.param(
            said((replace(OVER, signals=HIGH), Shot("check_standard", "CS", 8.0)), (A,), pb_method()),
            "it reads above the highest standard as well",
            id="in a failed bracket",
        ),
        pytest.param(
            said((replace(samples("A")[0], background="1.2"),), (A,), BACKGROUND),
            "more background than the method allows: dilute, or change the programme",
            id="background",
        ),
        pytest.param(
            said(
                (*samples("A", 17.5), Shot("sample", "A", 10.4, portion="A", dilution="2")),
                (A,),
                pb_method(checks=(rule("dilution_test"),)),
            ),
            "dilute until two dilutions agree (common practice, no source), or as your procedure says",
            id="dilutions disagree",
        ),
        pytest.param(
            said((OVER, replace(SCATTERED, holds=4.4, dilution="10")), (A,)),
            "8, 9  A  sample of S-00001 (lot L-1), diluted 10 times",
            id="as it was in range",
        ),
        pytest.param(said((SCATTERED,), (A,)), "  the readings scatter by 50 %; limit at most 10 %\n", id="why"),
        pytest.param(
            said(samples("A"), (A,), asked=TWO),
            "  1 of 2 portions were prepared\n       -  one more  sample of S-00001 (lot L-1)",
            id="a portion nobody prepared",
        ),
        pytest.param(
            said(samples("A"), (replace(A, mass_g=""),)),
            "nothing to read: complete the record, then calculate again\n  no mass is entered",
            id="a record to complete",
        ),
        pytest.param(
            said((*samples("A"), Shot("spiked_sample", "SP", 6.0, portion="SP")), (A, SPIKED), SPIKE),
            "(values stay on record; no certificate is drafted from this run)",
            id="a required spike failed",
        ),
        pytest.param(
            said((SCATTERED,), (A,), pb_method(checks=(rule("control_sample"), rule("dilution_test")))),
            "Control sample: required, and batch T-1 has none on record",
            id="a required check nobody prepared",
        ),
        pytest.param(
            said((SCATTERED,), (A,), pb_method(checks=(rule("dilution_test"),))),
            "Dilution test: a portion read at a second, higher dilution as well",
            id="a required dilution test",
        ),
        pytest.param(
            said((OVER, Shot("sample", "A", 4.4, portion="A", dilution="10")), (A,)),
            "8  A  above the highest standard (20 µg/L): position 9, diluted 10 times, counts",
            id="read again in the run",
        ),
        pytest.param(
            said(samples("A", 18.5), (A,)),
            "near the top: above 90 % of the highest standard, where EPA 200.9, 11.4.9 dilutes (information)",
            id="near the top",
        ),
        pytest.param(
            said((SCATTERED,), (A,), elsewhere=("S-00001",)),
            "no value here, but one in another run\n  the readings scatter by 50 %; limit at most 10 %\n"
            "       8  A  sample of S-00001 (lot L-1); value in R-9",
            id="had in another run",
        ),
        pytest.param(
            said((*samples("A"), Shot("duplicate", "A2", 5.0, portion="A2", scatter=0.5)), (A, DUPLICATE)),
            "no value, and none needed: no result of the sample lacks it",
            id="not needed",
        ),
    ],
)
def test_what_is_said(text: str, words: str) -> None:
    assert words in text


def test_a_whole_list_stands_in_its_order() -> None:
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    rules = (rule("second_source"), *BRACKETS, rule("method_blank"))
    shots = (Shot("second_source", "SS", 10.0), *pair(), Shot("method_blank", "MB", 0.1, portion="MB"), *pair())
    shots = (*shots, *samples("A"), Shot("sample", "B", portion="B", signals=HIGH), *pair(8.0))
    text = said(shots, (A, DUPLICATE, B, blank), pb_method(checks=rules), (requirement_of(portions=1),))
    assert text.splitlines() == [
        "Without a value: 2 of 3 presented solutions; to be done: 2.",
        "dilute and read again",
        "  Check standard after position 15 read 79.99 %; limit 90 to 110 %",
        "      15  B  sample of S-00002 (lot ?)",
        "          it reads above the highest standard as well",
        "          estimate about 44 µg/L: dilute 5 times, reads about 8.8 µg/L",
        "  aim: the middle of the standards, 10 µg/L (common practice, no source)",
        "  an estimate lies beyond the curve: it serves to choose a dilution and is no value",
        "read again as it is",
        "  Check standard after position 15 read 79.99 %; limit 90 to 110 %",
        "      14  A  sample of S-00001 (lot L-1)",
        "read with them",
        "          A2  duplicate of S-00001 (lot L-1): a result rests on one run, with A",
        "          MB  method blank of T-1: the method requires it in every run",
        "around them, in the new run",
        "  calibration of its own, 7 standards",
        "  Second-source standard, 10 µg/L",
        "  Check standard, 10 µg/L: before and after, at most 10 presented solutions between two, and at the end",
        "  Check blank: before and after, at most 10 presented solutions between two, and at the end",
    ]


def test_a_run_that_failed_and_was_made_again_asks_for_nothing() -> None:
    shots = (Shot("second_source", "SS", 13.0), *samples("A"))
    text = said(shots, (A,), pb_method(checks=(rule("second_source"),)), elsewhere=("S-00001",))
    assert text.splitlines()[:3] == [
        "Nothing to read again.",
        "the run as a whole gives nothing",
        "  Second-source standard at position 8 read 130 %; limit 90 to 110 %",
    ]


@pytest.mark.parametrize(
    ("shots", "portions", "asked", "summary"),
    [
        pytest.param((OVER,), (A, DUPLICATE), TWO, "Without a value: 1 of 1 presented solutions; to be done: 2.",
                     id="one to dilute, one not presented"),
        pytest.param((OVER, replace(SCATTERED, holds=4.4, dilution="10")), (A,), None,
                     "Without a value: 2 of 2 presented solutions; to be done: 1.", id="one at two places"),
        pytest.param(samples("A"), (A,), TWO,
                     "Every presented solution gives a value, and yet to be done: 1.", id="one nobody prepared"),
    ],
)  # fmt: skip
def test_the_words_count_what_the_list_counts(
    shots: Sequence[Shot], portions: Sequence[Portion], asked: Sequence[Requirement] | None, summary: str
) -> None:
    found, _, _, _ = listed(shots, portions, NONE, asked, ())
    assert said(shots, portions, NONE, asked).splitlines()[0] == summary
    assert summary.endswith(f"to be done: {len(found.open)}.")
