"""Whole worked calculations, line by line, against pages that people have read: every word, blank and order of it.

``pages`` holds them. A number that was computed stands there as ``~``: ``test_explain_reader`` works each formula of
the same page out again, and the tables of the curve and of the checks are worked out here. Numbers that were entered,
positions and lines stand as they are. After a change of words: read the difference, then change the page by hand.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.compute import test_explain_additions as additions
from tests.compute import test_explain_bracketing as bracketing
from tests.compute import test_explain_drift as drift
from tests.compute import test_explain_stored as stored
from tests.compute.bracketing import between
from tests.compute.drifting import drifting
from tests.compute.making import ALL_RULES, Shot, pair, pb_method, portion_of, rule, samples, standards
from tests.compute.test_explain_formulas import CONTENT, PER_UNIT, TWO_STEPS, around_of, budget, plan, read, usual
from tests.compute.test_run_additions import by_additions
from tests.compute.test_run_stored import usual as stored_run

from benchseal.compute.explain import explain
from benchseal.records.method import Glassware
from benchseal.records.preparation import DilutionStep
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.compute.explain_around import Around

FOLDER = Path(__file__).with_name("pages")
NUMBER = re.compile(r"(?<![\w.-])-?\d+\.\d+(?![\w.]*\.\d)")
# Whole numbers that were computed, by the words around them.
WHOLE = re.compile(
    r"(?<=found )-?\d+(?= )|(?<=readings )\d+(?= %)|(?<=: )\d+(?=, critical)|(?<=critical value )\d+"
    r"|(?<== )-?\d+(?= %|, cut)|(?<== )\d+(?= \S+, rounded up)|(?<=Reported: )<?\d+ ± \d+|(?<=: )\d+$"
    r"|(?<=drift = )-?\d+$"
)
ENTERED = {"7.20", "1.645"}  # in words of the program
RINSE = rule("return_to_zero", limit_in="solution", low="", high="0.5", required=False)


def _blanks() -> Around:
    """Three blanks, one of which lost a reading and stands aside; three portions diluted at the instrument too."""
    portions = [
        *(portion_of(label, dilutions={"Pb": (DilutionStep("5", "100"),)}) for label in "ABC"),
        *(portion_of(label, "", kind="method_blank", mass_g="") for label in ("M1", "M2", "M3")),
    ]
    shots = (
        *(*standards(), *pair(), Shot("method_blank", "M1", 0.3, "M1"), Shot("method_blank", "M3", 0.5, "M3")),
        Shot("method_blank", "M2", portion="M2", signals=("0.0027", "none", "0.0029", "0.0028")),
        *(Shot("sample", label, 7.0, portion=label, dilution="2.5") for label in "ABC"),
        *pair(),
    )
    return around_of(
        shots, pb_method(blank_subtraction="undiluted"), portions, [replace(CONTENT, portions=3, upper="")]
    )


def _lost() -> Around:
    """A portion over range as a mean, one as readings, one not read, one not determined; the closing check fails."""
    portions = [portion_of(label) for label in "ABD"]
    portions.append(portion_of("C", not_determined="the tube broke"))
    shots = (
        *(*standards(), *pair(), Shot("rinse", "R", 0.1), *samples("A", 25.0)),
        Shot("sample", "D", portion="D", signals=("over", "over")),
        *pair(8.0),
    )
    return around_of(shots, pb_method(checks=(*pb_method().checks, RINSE)), portions, [CONTENT])


def _through_zero() -> Around:
    levels = [
        replace(one, signals=tuple(f"{0.00293 * float(one.nominal) + off:.6f}" for off in (-0.00004, 0.00001, 0.00003)))
        for one in standards()
    ]
    method = replace(plan(model="line_through_zero"), checks=(), detection_level="", detection_level_source="")
    own = Shot("sample", "A", portion="A", signals=("0.0150",), dilution="3")
    method = replace(method, replicates=replace(method.replicates, count=1))
    return around_of([*levels, own], method, [portion_of("A")], [replace(CONTENT, portions=1)])


GLASS = (Glassware("flask 25 A", "flask", "25", "0.04", "0.02"), Glassware("P-5", "pipette", "5", "0.015", "0.01"))

PAGES: dict[str, Callable[[], Around]] = {
    "blank-and-checks": lambda: usual(
        replace(CONTENT, rule="guarded", lower="0.1", limit_source="agreed"),
        pb_method(blank_subtraction="undiluted", checks=ALL_RULES),
    ),
    "diluted-blank-dry-substance": lambda: usual(
        replace(CONTENT, rule="nonbinary", basis="dry", expressed_as="PbO", upper="4"),
        pb_method(blank_subtraction="same_dilution"),
        moisture_percent="7.31",
        u_moisture_percent="0.4",
    ),
    "percent-of-claim": lambda: usual(
        replace(CONTENT, quantity="percent_of_claim", unit="%", claim_mg="0.0125", upper="80"),
        budget(balance_linearity_g="0.0002", glassware=GLASS, temperature_half_range_k="4"),
        **{**PER_UNIT, **TWO_STEPS},
    ),
    "release-per-area": lambda: usual(
        replace(CONTENT, quantity="release_per_area", unit="mg/dm2", rule="beyond_doubt", upper="0.0004"),
        budget(area_percent="2", mass_g=""),
        area_dm2="2.5",
        mass_g="",
    ),
    "amount-per-unit": lambda: usual(
        replace(CONTENT, quantity="amount_per_unit", unit="mg", rule="pharma", decimals=4, upper="0.0126"), **PER_UNIT
    ),
    "validated": lambda: usual(
        replace(CONTENT, upper="2", exceedance_means="notify"), budget(s0="0.02", s1_percent="3")
    ),
    "validated-below-limit": lambda: usual(CONTENT, budget(s0="0.02", s1_percent="3"), holds=0.2),
    "below-limit-from-exposure": lambda: usual(
        replace(CONTENT, pde_ug_per_day="5", daily_dose_g="1.0", upper="5.0", route="oral", rule="guarded_5"), holds=0.2
    ),
    "quadratic-weighted": lambda: around_of(
        (*standards()[1:], *pair(), *samples("AB"), *pair()),
        replace(
            plan(
                weighting="variance_function", variance_s0="0.0002", variance_k="0.00006", variance_source="May",
                model="quadratic", fit_on="means",
            ),
            standards=pb_method().standards[1:],
        ),
        [portion_of(label) for label in "AB"],
        [replace(CONTENT, rounding="half_even", decimals=2, upper="")],
    ),
    "several-blanks": _blanks,
    "through-zero": _through_zero,
    "lost-portions": _lost,
    "additions": lambda: additions.two(
        by_additions(additions_smallest_r="0.995", additions_largest_slope_percent="30"), dilutions=additions.STEPS
    ),
    "additions-without-limits": lambda: additions.two(
        by_additions(fit_on="means", model="line_through_zero"), holds=-0.3, slope=0.00292
    ),
    "between-two-standards": lambda: bracketing.two(between(bracketing_change_percent="5")),
    "drift": lambda: drift.three_pairs(drifting(blank_subtraction="undiluted")),
    "stored-curve": lambda: stored.around(stored_run()[1]),
    "stored-quadratic": lambda: stored.around(stored_run(model="quadratic", bend=0.00002)[1]),
}  # fmt: skip


RESULTS_ONLY = {  # what stands before them is that of other pages
    "diluted-blank-dry-substance",
    "percent-of-claim",
    "release-per-area",
    "amount-per-unit",
    "validated",
    "validated-below-limit",
    "below-limit-from-exposure",
}


def entered(plain: object) -> Iterator[str]:
    """Every text inside plain data."""
    if isinstance(plain, str):
        yield from NUMBER.findall(plain)
    elif isinstance(plain, dict):
        for one in plain.values():
            yield from entered(one)
    elif isinstance(plain, list | tuple):
        for one in plain:
            yield from entered(one)


def masked(page: str) -> list[str]:
    """Lines of the page, ``~`` for each number that was computed."""
    of = PAGES[page]()
    known = {*ENTERED, *entered(plain_of(of.run)), *entered(plain_of(of.specification))}
    known |= {
        text for one in of.portions for text in (one.mass_g, one.volume_ml, one.unit_mass_g, one.moisture_percent)
    }
    lines = [
        WHOLE.sub("~", NUMBER.sub(lambda found: found[0] if found[0] in known else "~", line)) for line in explain(of)
    ]
    first = next(place for place, line in enumerate(lines) if line.startswith("Result"))
    return lines[first:] if page in RESULTS_ONLY else lines


@pytest.mark.parametrize("page", PAGES)
def test_a_whole_page_stands_as_it_was_read(page: str) -> None:
    due = (FOLDER / f"{page}.txt").read_text(encoding="utf-8").splitlines()
    assert masked(page) == due


def test_every_page_is_asked_for() -> None:
    assert {one.stem for one in FOLDER.glob("*.txt")} == PAGES.keys()


@pytest.mark.parametrize("page", [one for one in PAGES if one != "lost-portions"])
def test_every_formula_of_the_page_gives_its_value(page: str) -> None:
    assert read(PAGES[page]())["worked out"] > 5


# ------------------------------------------------------------------ tables: worked out here


def shown(text: str, due: float) -> bool:
    """Whether a printed number is ``due`` to half a unit of its last digit, and a little for the way there."""
    places = len(text.partition(".")[2])
    return abs(float(text) - due) <= 0.5 * 10.0**-places + 1e-9 * abs(due)


def test_the_table_of_the_curve_and_what_is_said_of_it() -> None:
    """A line on readings: numpy's least squares through the same 21 points."""
    of = PAGES["blank-and-checks"]()
    lines = explain(of)
    readings = of.run.document.readings.signal[:21]
    x, y = np.repeat([0, 1, 2.5, 5, 10, 15, 20], 3), np.array([float(text) for text in readings])
    b1, b0 = np.polyfit(x, y, 1)
    for nth, level in enumerate((0, 1, 2.5, 5, 10, 15, 20)):
        row = next(line for line in lines if line.startswith(f"  S{nth} ")).split()
        mean = y[3 * nth : 3 * nth + 3].mean()
        assert row[1:3] == [str(nth + 1), f"{level:g}"]
        assert shown(row[3], mean)
        assert shown(row[4], b0 + b1 * level)
        assert len(row) == (8 if level else 5), "of the zero standard nothing is read back"
        if level:
            assert shown(row[5], (mean - b0) / b1)
            assert shown(row[6], 100 * ((mean - b0) / b1 - level) / level)
    residuals = y - b0 - b1 * x
    said = " ".join(" ".join(lines).split())
    printed = r"residual standard deviation (\S+) A s; r² (\S+); relative standard error (\S+) %"
    sd, r2, rse = re.search(printed, said).groups()  # type: ignore[union-attr]
    assert shown(sd, float(np.sqrt((residuals**2).sum() / 19)))
    assert shown(r2, float(1 - (residuals**2).sum() / ((y - y.mean()) ** 2).sum()))
    errors = np.array([((one - b0) / b1 - level) / level for one, level in zip(y, x, strict=True) if level])
    assert shown(rse, float(100 * np.sqrt((errors**2).sum() / 16)))
    for found, error in re.findall(r"b([01]) \S+ standard error (\S+)", said):
        spread = np.sqrt((residuals**2).sum() / 19 / ((x - x.mean()) ** 2).sum())
        due = spread if found == "1" else spread * np.sqrt((x**2).mean())
        assert shown(error, float(due))
    ratio = re.search(r"highest against the lowest standard: (\d+), critical value 99 with 2 and 2", said)
    assert ratio is not None
    assert shown(ratio[1], float(y[18:].var() / y[:3].var()))


def test_what_the_checks_found() -> None:
    """Read on numpy's line: a percentage of what is expected, or what the solution holds."""
    of = PAGES["lost-portions"]()
    readings = np.array([float(text or "nan") for text in of.run.document.readings.signal])
    b1, b0 = np.polyfit(np.repeat([0, 1, 2.5, 5, 10, 15, 20], 3), readings[:21], 1)
    first = of.run.document.solutions.first_reading
    said = " ".join(" ".join(explain(of)).split())
    for name, place, percent in (
        ("check standard", 8, True), ("check standard", 13, True), ("check blank", 9, False),
        ("check blank", 14, False), ("return to zero", 10, False),
    ):  # fmt: skip
        found = re.search(rf"{name} found (\S+) \S+ limit (?:(?!found).)*? position {place}, ", said)
        assert found is not None, (name, place)
        holds = (readings[first[place - 1] : first[place - 1] + 3].mean() - b0) / b1
        assert shown(found[1], 10 * holds if percent else holds)


def test_a_sample_of_which_nothing_was_read_says_so() -> None:
    """Its record kept, its portions never presented."""
    of = PAGES["lost-portions"]()
    (result,) = of.results
    unread = replace(result, portions=tuple(replace(one, position=0) for one in result.portions))
    lines = explain(replace(of, work=replace(of.work, results=(unread,))))
    at = lines.index("Readings")
    assert lines[at + 1 : at + 3] == ("  No portion of the sample was read in this run.", "")


@pytest.mark.parametrize(
    ("every", "at_end", "head"),
    [
        (0, False, "  Bracket"),
        (7, False, "  Bracket: at most 7 solutions between two"),
        (0, True, "  Bracket: one closes the run"),
        (7, True, "  Bracket: at most 7 solutions between two, one closes the run"),
    ],
)
def test_what_a_rule_of_brackets_asks_stands_above_its_checks(every: int, at_end: bool, head: str) -> None:
    rules = tuple(replace(one, every=every, at_end=at_end) for one in pb_method().checks)
    lines = explain(
        around_of(
            (*standards(), *pair(), *samples("A"), *pair()), pb_method(checks=rules), [portion_of("A")], [CONTENT]
        )
    )
    assert lines.count(head) == 2


@pytest.mark.parametrize(
    ("decimals", "words"),
    [
        (0, "    0 decimal places, as the specification states"),
        (1, "    1 decimal place, as the specification states"),
        (-1, "    to the place that keeps two significant digits of U"),
    ],
)
def test_the_places_of_a_result_are_explained(decimals: int, words: str) -> None:
    assert words in explain(usual(replace(CONTENT, decimals=decimals)))
