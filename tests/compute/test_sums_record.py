"""The whole record of a sum, field by field, worked by hand; figures are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compute.test_sums import PARTS, REF, less_than, measured, summed

from benchseal.compute.sums import Addend
from benchseal.records.ids import sum_id
from benchseal.records.results import CALCULATION_RULES, BelowLimit, NotReportable, Quantified
from benchseal.records.sums import SumPart, WorkedSum

ELEMENTS = ("Pb", "Cd", "Hg")
EMPTY = WorkedSum(
    sum_id=sum_id("L-1", "S-1", "metals", ELEMENTS, "as received", "content", "medium_bound"),
    name="metals",
    sample="S-1",
    elements=ELEMENTS,
    fraction="total",
    basis="as received",
    quantity="content",
    unit="ug/g",
    bound="medium_bound",
    specification=REF,
    parts=(),
    outcome=NotReportable("not_reportable", "x", "y"),
    upper="",
    rule="simple",
    verdict="none",
    acceptance_upper="",
    probability="",
    comment_required="",
    exceedance_means="report",
    calculation_rules=CALCULATION_RULES,
)


def test_a_quantified_sum() -> None:
    """0.30 + 0.10 + 0.03; u: 0.03, 0.04 and 0.06/sqrt(12) in quadrature, 0.0529150262213; U 0.1058, up to 0.11."""
    found = summed(PARTS, "medium_bound", upper="0.60", rule="guarded", exceedance_means="notify")
    ids = [one.result.result_id for one in PARTS]
    assert replace(found, probability="") == replace(
        EMPTY,
        parts=(
            SumPart(ids[0], "Pb", "ug/g", False, "0.30", "0.3", "0.0300000000000", "", "2"),
            SumPart(ids[1], "Cd", "ug/g", False, "0.10", "0.1", "0.0400000000000", "", "2"),
            SumPart(ids[2], "Hg", "ug/g", True, "0.06", "0.03", "0.0173205080757", "", "2"),
        ),
        outcome=Quantified("quantified", "0.430000000000", "0.0529150262213", "", "2", "0.43", "0.11"),
        upper="0.60",
        rule="guarded",
        verdict="pass",
        acceptance_upper="0.4941699475574",
        exceedance_means="notify",
    )
    assert found.probability.startswith("0.999")


def test_a_sum_of_limits() -> None:
    """All below: 0.02 + 0.05; what was found there, 0.001 each, is kept; one of them in another unit."""
    parts = [less_than("Pb", "0.02"), less_than("Cd", "50", "4", unit="ug/kg", k="3")]
    found = summed(parts, "upper_bound", upper="0.50")
    assert found == replace(
        EMPTY,
        sum_id=sum_id("L-1", "S-1", "metals", ("Pb", "Cd"), "as received", "content", "upper_bound"),
        elements=("Pb", "Cd"),
        bound="upper_bound",
        parts=(
            SumPart(parts[0].result.result_id, "Pb", "ug/g", True, "0.02", "0.02", "0.00400000000000", "", "2"),
            SumPart(parts[1].result.result_id, "Cd", "ug/kg", True, "50", "0.05", "0.00400000000000", "", "3"),
        ),
        outcome=BelowLimit("below_limit", "0.0700000000000", "0.00100100000000", "<0.07"),
        upper="0.50",
        verdict="pass",
        acceptance_upper="0.50",
    )


def test_nothing_quantified_and_nothing_counted() -> None:
    found = summed([less_than("Pb", "0.02"), less_than("Cd", "0.04")], "lower_bound", upper="0.10")
    assert found.outcome == Quantified("quantified", "0", "0", "", "2", "0.00", "")
    assert [(part.counted, part.u, part.is_below) for part in found.parts] == [("0", "0", True)] * 2
    assert (found.verdict, found.acceptance_upper, found.probability, found.comment_required) == (
        "pass",
        "0.10",
        "",
        "",
    )


def test_without_any_result_there_is_no_fraction() -> None:
    found = summed([], "medium_bound", elements=ELEMENTS)
    why = "a part has no value (Pb: no result; Cd: no result; Hg: no result)"
    assert found == replace(EMPTY, fraction="", outcome=NotReportable("not_reportable", "sum.part-missing", why))


def test_parts_stand_in_the_order_of_the_specification() -> None:
    found = summed(PARTS[::-1], "medium_bound", elements=ELEMENTS)
    assert [part.element for part in found.parts] == list(ELEMENTS)


@pytest.mark.parametrize("decimals", [45, 50])
def test_limits_that_together_leave_no_room_have_no_sum(decimals: int) -> None:
    """A limit of 60 000 at 45 places has 50 digits; twice it has six before the point."""
    parts = [less_than("Pb", "60000"), less_than("Cd", "60000")]
    found = summed(parts, decimals=decimals)
    why = "a number of the sum has more digits than a record holds"
    assert found.outcome == NotReportable("not_reportable", "sum.number-size", why)
    assert found.parts == ()
    within = summed([less_than("Pb", "30000"), less_than("Cd", "30000")], decimals=45).outcome
    assert isinstance(within, BelowLimit)
    assert within.value_text == f"<60000.{'0' * 45}"


def test_degrees_of_freedom_are_cut_downwards_unless_only_rounding_is_in_the_way() -> None:
    """u 3 with 4 and u 4 with 9: 625/(81/4 + 256/9) = 12.83; equal u with 5 each: 10, though u has twelve digits."""
    cut = summed([measured("Pb", "1", "3", df="4"), measured("Cd", "1", "4", df="9")]).outcome
    assert isinstance(cut, Quantified)
    assert (cut.u, cut.df) == ("5.00000000000", "12")
    whole = summed([measured(one, "1", "0.123456789012", df="5") for one in ("Pb", "Cd")]).outcome
    assert isinstance(whole, Quantified)
    assert whole.df == "10"


def test_the_coverage_factor_is_compared_as_a_number() -> None:
    parts = [measured("Pb", "1", "0.1", k="10"), measured("Cd", "1", "0.1", k="9")]
    found = summed(parts).outcome
    assert isinstance(found, Quantified)
    assert found.k == "10"


def test_a_failure_is_told_apart_from_one_by_limits_at_the_limit_itself() -> None:
    """What was quantified, 0.40, does not exceed 0.40; of 0.39 it does."""
    for upper, said in (("0.40", True), ("0.39", False)):
        found = summed(PARTS, upper=upper)
        assert (found.verdict, "Without the parts below" in found.comment_required) == ("fail", said)


def test_a_part_with_its_unit_has_its_variance_in_the_unit_of_the_sum() -> None:
    (part,) = summed([Addend(measured("Pb", "300", "30", "ug/kg", df="7").result, "2")]).parts
    assert (part.value, part.counted, part.u, part.df, part.unit) == ("300", "0.3", "0.0300000000000", "7", "ug/kg")
