"""Corrections for drift in fractions, by hand: the whole record of a step, the words of what cannot be corrected."""

from __future__ import annotations

from dataclasses import replace
from decimal import Context, Decimal
from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.drifting import (
    TWO,
    State,
    W,
    around,
    check,
    drifting,
    pair,
    sample,
    shots_of,
    timed,
    worked,
    zero,
)
from tests.compute.making import BRACKETS, Shot, bench_of, portion_of, run_of
from tests.compute.test_run_drift import FAR, WIDE

from benchseal.compute.run_work import work_run
from benchseal.records.results import DriftStep, NotReportable, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

HALF, LAST = State(0.97, -0.0005), State(0.94, -0.001)
STANDARDS = (around(0.0308, 0.0001), around(0.0299, 0.00012, 4), around(0.0298, 0.00007), around(0.0289, 0.00015))
BLANKS = (around(0.0015, 0.00002), around(0.0011, 0.00003), around(0.0005, 0.00001))
READ = around(0.0245)


def presented(label: str = "W") -> tuple[Shot, ...]:
    """Pairs at 8 and 9, 11 to 13, 15 and 16; V is read at 10 and W at 14."""
    return (
        *(check(signals=STANDARDS[0]), zero(signals=BLANKS[0]), sample("V", 8.0, HALF)),
        *(check(signals=STANDARDS[1]), zero(signals=BLANKS[1]), check(signals=STANDARDS[2])),
        *(Shot("sample", label, portion=label, signals=READ), check(signals=STANDARDS[3]), zero(signals=BLANKS[2])),
    )


def mean(texts: Sequence[str]) -> Fraction:
    return sum(map(Fraction, texts), Fraction(0)) / len(texts)


def squares(solutions: Sequence[Sequence[str]]) -> Fraction:
    return sum(((Fraction(text) - mean(own)) ** 2 for own in solutions for text in own), Fraction(0))


def near(text: str, due: Fraction | float) -> bool:
    """Twelve digits of it."""
    assert len(text.lstrip("-0.").replace(".", "")) == 12, text
    return abs(float(Decimal(text)) / float(due) - 1) < 6e-12


@pytest.mark.parametrize("along", ["position", "time"])
def test_every_figure_of_a_step(along: Any) -> None:  # noqa: ANN401  a word of the record
    """By position W is at 14, pairs at 12 and 15.5; by time at 310 s, pairs at 190 and 400 s."""
    run = run_of(shots_of(*presented()), drifting(checks=WIDE))
    if along == "time":
        starts = [*range(7), 10, 30, 50, 110, 200, 245, 300, 380, 400]
        run = timed(run, starts)
    work = work_run(run, bench_of([W, portion_of("V")], [TWO]))
    assert isinstance(work, RunWork)
    step: DriftStep
    (step,) = next(one for one in work.results[0].portions if one.portion == "W").drift
    if along == "time":  # three readings 10 s apart, or four
        before = Fraction(sum((110, 120, 130, 140, 200, 210, 220, 245, 255, 265)), 10)
        at = (310 - before) / (Fraction(sum((380, 390, 400, 400, 410, 420)), 6) - before)
    else:
        at = Fraction(14 - 12) / (Fraction(31, 2) - 12)
    spans = (
        mean(STANDARDS[0]) - mean(BLANKS[0]),
        (mean(STANDARDS[1]) + mean(STANDARDS[2])) / 2 - mean(BLANKS[1]),
        mean(STANDARDS[3]) - mean(BLANKS[2]),
    )
    blank = mean(BLANKS[1]) + (mean(BLANKS[2]) - mean(BLANKS[1])) * at
    span = spans[1] + (spans[2] - spans[1]) * at
    factor, r = spans[0] / span, (mean(READ) - blank) / span
    s = [sqrt(squares(STANDARDS) / 9), sqrt(squares(BLANKS) / 6)]
    weights = (Fraction(1), factor * (1 - at), factor * at)
    of_standards = sum(
        w * w * share for w, share in zip(weights, (Fraction(1, 3), Fraction(7, 48), Fraction(1, 3)), strict=True)
    )
    of_blanks = sum(w * w / 3 for w in weights)
    u = sqrt((float(r) * s[0]) ** 2 * float(of_standards) + (float(1 - r) * s[1]) ** 2 * float(of_blanks))
    assert (step.first, step.before, step.after) == ((8, 9), (11, 12, 13), (15, 16))
    assert (step.along, step.df_standard, step.df_blank) == (along, 9, 6)
    for text, due in (
        (step.at, at), (step.first_blank, mean(BLANKS[0])), (step.first_span, spans[0]), (step.blank, blank),
        (step.span, span), (step.factor, factor), (step.corrected, mean(BLANKS[0]) + (mean(READ) - blank) * factor),
        (step.sd_standard, s[0]), (step.sd_blank, s[1]), (step.u_corrected, u),
    ):  # fmt: skip
        assert near(text, due)


def test_between_the_first_pair_and_the_next_the_first_one_counts_once() -> None:
    """Its weight is 1 - F (1 - f); signs of both sides cancel in part."""
    work = worked(presented(), [portion_of("V"), W], drifting(checks=WIDE), asked=[TWO])
    (step,) = next(one for one in work.results[0].portions if one.portion == "V").drift
    at = Fraction(10) - Fraction(17, 2)
    at /= 12 - Fraction(17, 2)
    factor = Fraction(step.factor)
    signal = mean(sample("V", 8.0, HALF).signals or ())
    r = (signal - Fraction(step.blank)) / Fraction(step.span)
    first, second = (1 - factor * (1 - at)) ** 2, (factor * at) ** 2
    standards = float(r) * float(step.sd_standard) * sqrt(float(first / 3 + second * Fraction(7, 48)))
    blanks = float(1 - r) * float(step.sd_blank) * sqrt(float((first + second) / 3))
    assert float(step.u_corrected) == pytest.approx(sqrt(standards**2 + blanks**2), rel=1e-9)
    assert (step.first, step.before) == ((8, 9), (8, 9))


OPENED = (
    "no check standard with a check blank was read {} it since the calibration, so drift is not known; read it again"
)
OPTIONAL = {"checks": tuple(replace(one, at_end=False, required=False) for one in WIDE)}
ANYTHING = {"checks": tuple(replace(one, low="-50" if one.low else "") for one in WIDE)}
TOO_FAR = "the net check standard at positions 11, 12 has drifted from the first one by -12 %; limit -10 to 10 %"
NO_SPAN = "the check standard at positions 8, 9 reads no more than its check blank"
LOST: dict[str, tuple[tuple[Shot, ...], dict[str, Any], str, str]] = {
    "no pair before": ((sample("W", 8.0), *pair()), {}, "drift.open", OPENED.format("before")),
    "no pair after": ((*pair(), sample("W", 8.0)), OPTIONAL, "drift.open", OPENED.format("after")),
    "none at all": ((sample("W", 8.0),), OPTIONAL, "drift.open", OPENED.format("before or after")),
    "too far": (
        (*pair(), sample("W", 8.0), *pair(FAR)), {"checks": WIDE}, "drift.too-large",
        f"{TOO_FAR}; calibrate and read again",
    ),
    "no span": (
        (check(signals=around(0.0015)), zero(signals=around(0.0015)), sample("W", 8.0), *pair()), ANYTHING,
        "drift.no-span", f"{NO_SPAN}; find the cause, calibrate and read again",
    ),
}  # fmt: skip


@pytest.mark.parametrize("defect", LOST)
def test_what_cannot_be_corrected_says_why_and_what_to_do(defect: str) -> None:
    shots, fields, code, words = LOST[defect]
    outcome = worked(shots, [W], drifting(**fields)).results[0].outcome
    assert isinstance(outcome, NotReportable)
    assert outcome.code == code
    due = f"{words} between two such pairs" if code == "drift.open" else words
    assert outcome.why == f"0 of 1 portion gives a value (W: {due})"


def test_the_largest_correction_is_told_with_six_digits() -> None:
    work = worked((*pair(), sample("W", 8.0, HALF), *pair(HALF)), [W], drifting(checks=WIDE))
    (portion,) = work.results[0].portions
    (words,) = [one for one in work.findings if "corrected for drift" in one]
    read, corrected = (Decimal(text) for text in (portion.mean_signal, portion.drift[0].corrected))
    six, seven = (Context(prec=digits).plus(corrected) for digits in (6, 7))
    assert six != seven
    assert words.endswith(f"the largest correction, {read.normalize()} to {six} A s, is at position 10")


def test_the_words_name_both_ways_where_both_were_used() -> None:
    """V by time; W has none."""
    shots = (*pair(), sample("V", 8.0), *pair(), sample("W", 8.0), *pair())
    run = run_of(shots_of(*shots), drifting(checks=BRACKETS))
    run = timed(run, [*range(7), 10, 30, 60, 90, 120, None, 200, 230])
    work = work_run(run, bench_of([W, portion_of("V")], [TWO]))
    assert isinstance(work, RunWork)
    (words,) = [one for one in work.findings if "corrected for drift" in one]
    assert "between check pairs, by time and position; " in words


@pytest.mark.parametrize("limit", ["0.000001", "1", "99.9"])
def test_a_limit_above_nothing_and_below_everything_is_one(limit: str) -> None:
    """Nothing drifted, so each of them is kept."""
    assert isinstance(worked((*pair(), sample("W", 8.0), *pair()), [W], drifting(limit)).results[0].outcome, Quantified)
