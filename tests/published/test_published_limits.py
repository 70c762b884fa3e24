"""Limits of methods, guidelines and laws: the copies agree with each other, and the starter documents with them."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from benchseal.demo.starters import methods
from benchseal.records.elements import ELEMENT_NAMES
from benchseal.records.quantities import decimals_of, known_units, plain, unit_factor

from .published import calc, table

if TYPE_CHECKING:
    from benchseal.records.method import Method

CALIBRATION = {(row["source"], row["what"]): row for row in table("limits/calibration")}
CHECKS = table("limits/checks")
STARTERS = [pytest.param(method, id=name) for name, method in methods().items()]
DAILY = {row["element"]: row for row in table("limits/ich_q3d_r2")}
COMPONENTS = {row["element"]: row for row in table("limits/usp_232")}
ROUTES = ("oral", "parenteral", "inhalation")
# USP 41 <232>, table 3, is older than ICH Q3D(R2): cells in which they differ, with the exposure in ug a day over 10 g.
CORRECTED = {
    ("Cd", "inhalation"): "0.3",
    ("Ni", "inhalation"): "0.6",
    ("Au", "oral"): "30",
    ("Au", "parenteral"): "30",
    ("Au", "inhalation"): "0.3",
    ("Ag", "parenteral"): "1.5",
}
REGULATED = table("regulatory_limits")


@pytest.mark.parametrize("method", STARTERS)
def test_the_correlation_asked_of_a_curve_is_the_published_one(method: Method) -> None:
    """EPA 7000B and 7010, 10.2: r at least 0.995, entered as its square; 8000D, 11.5.3.2: r2 at least 0.99."""
    plan = method.calibration
    cited = [row for (source, _), row in CALIBRATION.items() if plan.source.startswith(f"{source}:")]
    if cited:
        (row,) = cited
        assert Decimal(plan.smallest_r_squared) == Decimal(row["low"]) ** 2
    else:
        assert plan.source.startswith("EPA 8000D 11.5.3")
        assert Decimal(plan.smallest_r_squared) == Decimal(
            CALIBRATION["EPA 8000D 11.5.3.2", "correlation_squared"]["low"]
        )


@pytest.mark.parametrize("method", STARTERS)
def test_no_error_of_a_level_may_be_wider_than_the_published_ones(method: Method) -> None:
    """EPA 8000D, 11.5.4.1: 30 percent at every level, 50 at the lowest in some uses; 11.5: levels."""
    plan = method.calibration
    assert Decimal(plan.largest_error_percent) <= Decimal(CALIBRATION["EPA 8000D 11.5.4.1", "error"]["high"])
    assert Decimal(plan.at_lowest_percent) <= Decimal(CALIBRATION["EPA 8000D 11.5.4.1", "error_lowest"]["high"])
    source = {"line": "EPA 8000D 11.5", "quadratic": "EPA 8000D 11.5.3"}[plan.model]
    assert plan.smallest_levels >= int(CALIBRATION[source, f"levels_{plan.model}"]["low"])
    if plan.largest_rse_percent:
        row = CALIBRATION["EPA 8000D 11.5.4.2", "relative_standard_error"]
        assert Decimal(plan.largest_rse_percent) <= Decimal(row["high"])


@pytest.mark.parametrize("method", STARTERS)
def test_checks_come_as_often_as_the_published_method_asks(method: Method) -> None:
    """EPA 7000B and 7010, 10.2.2, and 7471B, 9.4: after every ten."""
    cited = {source: row for (source, what), row in CALIBRATION.items() if what == "solutions_between_checks"}
    for rule in method.checks:
        row = next((row for source, row in cited.items() if rule.source.startswith(source)), None)
        if row is not None and rule.check in {"check_standard", "check_blank"}:
            assert 0 < rule.every <= int(row["high"])
            assert rule.at_end


@pytest.mark.parametrize("method", STARTERS)
def test_a_limit_of_our_own_is_never_wider_than_the_published_one_it_names(method: Method) -> None:
    """House limits that quote what a method would allow lie inside it, and quote it rightly."""
    for rule in method.checks:
        if "would allow" not in rule.source:
            continue
        row = next(
            row
            for row in CHECKS
            if row["check"] == rule.check and row["source"].replace(" (Feb 2007)", "") in rule.source
        )
        assert rule.source.endswith((f"{row['low']} to {row['high']}", f"would allow {row['high']}"))
        assert Decimal(row["low"]) <= Decimal(rule.low) < Decimal(rule.high) <= Decimal(row["high"])


def test_windows_are_named_once_and_hold_their_middle() -> None:
    named = [(row["source"], row["check"]) for row in CHECKS]
    assert len(named) == len(set(named))
    assert all(Decimal(row["low"]) < Decimal(row["high"]) for row in CHECKS)
    assert {row["confirmed"] for row in (*CHECKS, *CALIBRATION.values())} == {"yes"}


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("element", sorted(DAILY))
def test_component_limits_are_the_daily_exposures_of_ten_grams(element: str, route: str) -> None:
    """ICH Q3D(R2), option 1, against USP 41 <232>, table 3; cells corrected between the editions are named above."""
    exposure = Decimal(DAILY[element][f"{route}_ug_per_day"])
    component = Decimal(COMPONENTS[element][f"{route}_ug_per_g"])
    due = Decimal(CORRECTED[element, route]) if (element, route) in CORRECTED else component
    assert exposure / 10 == due
    assert (due == component) == ((element, route) not in CORRECTED)


def test_both_tables_have_the_same_elements_in_the_same_classes() -> None:
    assert set(DAILY) == set(COMPONENTS) <= set(ELEMENT_NAMES)
    assert len(DAILY) == 24
    assert all(DAILY[element]["class"] == COMPONENTS[element]["class"] for element in DAILY)
    first = {element for element, row in DAILY.items() if row["class"] == "1"}
    assert first == {"As", "Cd", "Hg", "Pb"}
    short = {row["element"]: row["oral_ug_per_day"] for row in table("limits/daily_exposure")}
    assert short == {element: DAILY[element]["oral_ug_per_day"] for element in first}


def test_ware_of_the_directive_is_category_1_of_the_table() -> None:
    """Directive 84/500/EEC."""
    ware = {row["element"]: row["limit"] for row in REGULATED if row["matrix"].startswith("ceramic ware cat. 1")}
    assert ware == {row["element"]: row["mg_per_dm2"] for row in table("limits/ceramics")}


@pytest.mark.parametrize("row", REGULATED, ids=lambda row: f"{row['regime']}, {row['element']}, {row['matrix']}")
def test_a_value_at_a_regulatory_limit_passes_and_one_step_above_fails(row: dict[str, str]) -> None:
    """Limits as printed, "not more than", judged in decimals in the unit of the limit and in a thousandth of it."""
    unit = row["unit"].split(" ")[0]
    smaller = {"mg/L": "ug/L", "ug/L": "ng/L", "mg/kg": "ug/kg", "mg/dm2": "ug/dm2"}[unit]
    assert row["element"] in ELEMENT_NAMES
    assert unit in known_units()
    limit = Decimal(row["limit"])
    step = Decimal(1).scaleb(-decimals_of(row["limit"]) - 1)
    factor = unit_factor(unit, smaller)
    assert factor == 1000
    for scale in (Decimal(1), Decimal(factor.numerator)):
        upper = plain(limit * scale)
        verdicts = [
            calc(kind="conformity", rule="simple", value=plain((limit + change) * scale), upper=upper)["verdict"]
            for change in (-step, Decimal(0), step)
        ]
        assert verdicts == ["pass", "pass", "fail"]


def test_the_regimes_that_share_a_limit_share_it_in_every_unit() -> None:
    """Arsenic in drinking water is 0.01 mg/L in the US, 10 ug/L in the EU, and the WHO's 0.01 mg/L: one value."""
    arsenic = {
        row["regime"]: Decimal(row["limit"])
        * unit_factor(row["unit"], "ug/L").numerator
        / unit_factor(row["unit"], "ug/L").denominator
        for row in REGULATED
        if row["element"] == "As" and row["matrix"] == "drinking water"
    }
    assert len(arsenic) == 3
    assert set(arsenic.values()) == {Decimal(10)}


@pytest.mark.parametrize("method", STARTERS)
def test_the_background_a_furnace_method_allows_is_the_published_one(method: Method) -> None:
    """EPA 200.9, 9.4.1: background absorbance below 1.0."""
    conditions = method.conditions
    if conditions.largest_background:
        row = CALIBRATION[conditions.background_source, "background"]
        assert Decimal(conditions.largest_background) <= Decimal(row["high"])
