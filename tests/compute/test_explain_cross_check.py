"""What a cross-check says of a result, to the last word and key: figures made by hand, each printed as what it is."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING, get_args

import pytest
from tests.compute.test_sums import result

from benchseal.compute.cross_check import CrossCheck, NoCheck
from benchseal.compute.explain_cross_check import NO_CHECK, cross_check_lines, cross_check_values
from benchseal.compute.explain_layout import prose, table
from benchseal.compute.monte_carlo import Comparison, Drawn, NoDraws
from benchseal.compute.redraw_result import NotCovered
from benchseal.records.results import Contribution, Quantified

if TYPE_CHECKING:
    from benchseal.records.results import WorkedResult

FOUND = CrossCheck(
    seed=7,
    value=5.0,
    u=0.5,
    df=12.9,
    k=2.17881283,
    interval=(3.910594, 6.089406),
    drawn=Drawn(20_000, 2, 5.25, 0.5125, (4.25, 6.375), (4.125, 6.0625), 0.0036, (0.01252, 0.01753)),
    moments=True,
    compared=Comparison(0.05, (0.339406, 0.285594), validated=False),
    reported=(4.0, 6.0),
    covered_percent=93.4567,
    more_draws=None,
)
OPEN = replace(FOUND, compared=Comparison(0.05, (0.04, 0.03), validated=None), more_draws=31_000)
NO_INTERVAL = replace(FOUND, df=0.5, k=None, interval=None, compared=None)
HEAD = [
    "",
    "Monte Carlo cross-check (JCGM 101, from memory): lead, content in µg/g, as received",
    "  a look at the result: no part of the record, stored nowhere; what is reported stays as it is",
]
FIT = "a t distribution with the degrees of freedom of the curve; coefficients and readings together"


def made(*names: str, **changes: str) -> WorkedResult:
    outcome = Quantified("quantified", "5", "0.5", "12", "2", "5.0", "1.0")
    contributions = tuple(Contribution(name, "0.1", "10") for name in names)
    return replace(result("Pb", outcome), contributions=contributions, **changes)  # type: ignore[arg-type]


RESULT = made("reading noise", "volume", "calibration curve", "recovery", "standard lot")


def lines(found: CrossCheck | NoCheck, of: WorkedResult = RESULT) -> list[str]:
    return list(cross_check_lines(of, found))


def test_the_whole_page() -> None:
    """0.339406 of u 0.5 is 67.88 %; twice the errors of the ends are 0.02504 and 0.03506, two digits kept."""
    assert lines(FOUND) == [
        *HEAD,
        "  20000 trials from seed 7, each through the whole model; drawn were",
        *table(
            [
                ("reading noise; calibration curve:", FIT),
                ("volume; standard lot:", "normal"),
                ("recovery:", "normal, and divided by"),
            ],
            4,
        ),
        "    2 trials had no value and stand aside",
        "                        value  u       95 % interval",
        "    law of propagation  5      0.5     3.91059 to 6.08941  k 2.179, 12 degrees of freedom",
        "    trials              5.25   0.5125  4.25 to 6.375       as much below as above",
        "                                       4.125 to 6.0625     the shortest of all",
        "    twice the standard error of the drawn ends: 0.025 and 0.035",
        "    the ends differ by 0.339406 and 0.285594; tolerance 0.05, half of the last of two digits of u",
        *prose(
            "Verdict: beyond the tolerance, the ends by up to 67.9 % of u apart: the law of propagation is not exact"
            " here. Where that matters, the drawn interval is the better one"
        ),
        "  within the reported value ± U, 4 to 6, lie 93.46 % of the trials",
    ]


WITHIN = "within the tolerance: the interval of the law of propagation stands"
UNKNOWN = "open: the trials know their ends less well than the tolerance asks. {}"
NEVER = "Not even 2000000 trials would do; the largest difference seen says how near they are"


@pytest.mark.parametrize(
    ("validated", "more", "verdict"),
    [
        (True, None, WITHIN),
        (None, 31_000, UNKNOWN.format("About 31000 trials would do")),
        (None, 2_000_000, UNKNOWN.format("About 2000000 trials would do")),
        (None, 2_000_001, UNKNOWN.format(NEVER)),
        (None, None, UNKNOWN.format(NEVER)),
    ],
)
def test_each_verdict_has_its_words(validated: bool | None, more: int | None, verdict: str) -> None:
    found = lines(replace(FOUND, compared=Comparison(0.05, (0.04, 0.03), validated), more_draws=more))
    due = list(prose(f"Verdict: {verdict}"))
    at = found.index(due[0])
    assert found[at : at + len(due)] == due
    assert at + len(due) == len(found) - 1, "what lies within the reported interval is said last"


def test_without_an_interval_there_is_no_verdict_and_no_factor() -> None:
    found = lines(NO_INTERVAL)
    assert "    law of propagation  5      0.5     none below one degree of freedom" in found
    assert found[-2] == "  Verdict: none, since the law of propagation gives no interval to compare"
    assert not any("differ" in line for line in found)


def test_degrees_without_end_are_said_in_words() -> None:
    found = lines(replace(FOUND, df=inf, k=1.959964))
    (row,) = [line for line in found if "law of propagation  5" in line]
    assert row.endswith("k 1.96, no end of degrees of freedom")


def test_mean_and_spread_are_not_told_where_they_do_not_exist() -> None:
    found = lines(replace(FOUND, moments=False))
    (row,) = [line for line in found if "  as much below as above" in line]
    assert row.split() == ["trials", "none", "none", "4.25", "to", "6.375", "as", "much", "below", "as", "above"]


def test_trials_without_a_value_are_counted_only_where_there_are_any() -> None:
    assert not any("no value" in line for line in lines(replace(FOUND, drawn=replace(FOUND.drawn, without_value=0))))
    assert "    1 trial had no value and stand aside" in lines(
        replace(FOUND, drawn=replace(FOUND.drawn, without_value=1))
    )


def test_the_head_names_quantity_basis_and_substance() -> None:
    of = made(quantity="release_per_area", unit="ug/dm2", basis="dry", expressed_as="PbO")
    assert lines("no_value", of)[1] == (
        "Monte Carlo cross-check (JCGM 101, from memory): lead, release per area in µg/dm², dry, given as PbO"
    )


WORDS: dict[NoCheck, str] = {
    "below_limit": "it is reported as below its limit: no value is reported that could be drawn around",
    "no_value": "it has no value",
    "no_uncertainty": "its uncertainty is zero: there is nothing to draw",
    "validated": "its uncertainty was found by validation as a whole: no input of it is known to be drawn",
    "corrected_twice": "signals corrected for drift on a stored curve: no model of both is made here",
    "blank_by_additions": "its method blank was not read on the curve: no model of that is made here",
    "no_portions": "no portion counts in it",
    "draws_without_value": "more than one draw in a thousand has no value, the drawn curve not rising or a divisor not "
    "above zero: such a result is not fit for use",
    "no_finite_value": "a drawn value leaves the range of numbers",
}


@pytest.mark.parametrize("why", WORDS)
def test_what_was_not_drawn_says_why_and_nothing_else(why: NoCheck) -> None:
    assert lines(why) == [*HEAD, *prose(f"not drawn: {WORDS[why]}")]
    assert cross_check_values(RESULT, why) == {
        "result_id": RESULT.result_id,
        "unit": "ug/g",
        "recorded": False,
        "not_drawn": why,
        "why": WORDS[why],
    }


def test_every_reason_has_its_words() -> None:
    reasons = {*get_args(NotCovered), *get_args(NoDraws), "below_limit", "no_value", "no_uncertainty"}
    assert NO_CHECK == WORDS
    assert WORDS.keys() == reasons


VALUES = {
    "result_id": RESULT.result_id,
    "unit": "ug/g",
    "recorded": False,
    "seed": 7,
    "trials": 20_000,
    "trials_without_value": 2,
    "value": 5.0,
    "u": 0.5,
    "df": 12,
    "k": 2.17881283,
    "interval": (3.910594, 6.089406),
    "drawn_mean": 5.25,
    "drawn_u": 0.5125,
    "interval_symmetric": (4.25, 6.375),
    "interval_shortest": (4.125, 6.0625),
    "standard_error_ends": (0.01252, 0.01753),
    "delta": 0.05,
    "difference_ends": (0.339406, 0.285594),
    "validated": False,
    "trials_wanted": None,
    "percent_within_reported": 93.4567,
}


@pytest.mark.parametrize(
    ("found", "changed"),
    [
        pytest.param(FOUND, {}, id="all"),
        pytest.param(replace(FOUND, df=inf), {"df": "infinite"}, id="no end of degrees"),
        pytest.param(replace(FOUND, moments=False), {"drawn_mean": None, "drawn_u": None}, id="no moments"),
        pytest.param(
            OPEN, {"difference_ends": (0.04, 0.03), "validated": None, "trials_wanted": 31_000}, id="not settled"
        ),
        pytest.param(
            NO_INTERVAL,
            {"df": 0, "k": None, "interval": None, "delta": None, "difference_ends": None, "validated": None},
            id="no interval",
        ),
    ],
)
def test_programs_are_told_the_same(found: CrossCheck, changed: dict[str, object]) -> None:
    assert cross_check_values(RESULT, found) == {**VALUES, **changed}


DRAWN: dict[str, tuple[str, ...]] = {
    FIT: ("reading noise", "calibration curve", "method blank, reading noise", "one-standard correction"),
    "a t distribution for each line": ("additions line",),
    "a t distribution with the degrees of freedom of their scatter": (
        *("between two standards", "drift correction, check standards", "drift correction, check blanks"),
        "method blanks, scatter",
    ),
    "normal": ("standard lot", "dilution", "volume", "area", "moisture", "mean unit mass"),
    "the lot normal, glassware as below": ("standard lot and its dilution",),
    "tolerances triangular, filling normal, temperature rectangular": ("glassware",),
    "repeatability normal, linearity rectangular at both ends": ("weighing",),
    "normal, and divided by": ("recovery",),
}


@pytest.mark.parametrize("words", DRAWN)
def test_each_line_of_a_budget_says_how_it_is_drawn(words: str) -> None:
    for name in DRAWN[words]:
        assert next(iter(table([(f"{name}:", words)], 4))) in lines(FOUND, made(name))
    together = list(table([(f"{'; '.join(DRAWN[words])}:", words)], 4))
    assert lines(FOUND, made(*DRAWN[words]))[4 : 4 + len(together)] == together
