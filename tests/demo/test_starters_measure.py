"""Every shipped method measures: an invented run of it goes the whole line, and a bad one is stopped where it says.

Invented signals follow the curve by construction, so that the values come back shows that the rooms fit together with
these rules and conditions; it is no evidence that a formula is right.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from benchseal.problems import Problem
from benchseal.records.quantities import plain
from benchseal.records.results import Quantified, RunWork

from .laboratory import shipped_methods
from .measuring import Tube, calibration, due, measured, pair, usual_tubes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.method import Method
    from benchseal.records.results import CheckVerdict, WorkedResult

SHIPPED = shipped_methods()
METHODS = [pytest.param(method, id=name) for name, method in SHIPPED.items()]


def worked(method: Method, tubes: Iterable[Tube], *settings: str, acid_percent: str = "") -> RunWork:
    found = measured(method, tubes, settings, acid_percent=acid_percent)
    assert isinstance(found, RunWork), [str(problem) for problem in found]
    return found


def refused(method: Method, tubes: Iterable[Tube], *settings: str) -> list[str]:
    found = measured(method, tubes, settings)
    assert not isinstance(found, RunWork)
    assert all(isinstance(problem, Problem) for problem in found)
    return [problem.code for problem in found]


def of_rule(work: RunWork, name: str) -> list[CheckVerdict]:
    return [check for check in work.checks if check.rule == name]


def outcome(result: WorkedResult) -> Quantified:
    assert isinstance(result.outcome, Quantified), result.outcome
    return result.outcome


@pytest.mark.parametrize("method", METHODS)
def test_a_good_run_is_usable_and_gives_its_values(method: Method) -> None:
    tubes = usual_tubes(method)
    work = worked(method, tubes, acid_percent=method.conditions.acid_percent)
    assert work.usable, work.findings
    assert [check for check in work.checks if check.verdict == "fail"] == []
    first = next(result for result in work.results if result.sample == "S-00001")
    holds = next(tube.holds for tube in tubes if tube.label == "A/1")
    assert float(outcome(first).value) == pytest.approx(due(method, holds), rel=0.02)
    assert len(first.portions) == 2


@pytest.mark.parametrize("method", METHODS)
def test_every_check_of_a_method_can_be_met(method: Method) -> None:
    """But for the reference material of a water, of which a laboratory may have none."""
    work = worked(method, usual_tubes(method), acid_percent=method.conditions.acid_percent)
    met = {check.rule for check in work.checks if check.verdict == "pass"}
    asked = {rule.id for rule in method.checks if rule.check != "reference_material" or rule.required}
    assert asked <= met


@pytest.mark.parametrize("method", METHODS)
def test_settings_a_file_states_must_be_the_methods(method: Method) -> None:
    words = {"": "no", "air_acetylene": "air and acetylene", "nitrous_oxide_acetylene": "nitrous oxide and acetylene"}
    forms = {"continuous": "steady", "peak_height": "height", "integrated": "area"}
    tubes, own = usual_tubes(method), method.conditions
    said = [f"Slit in nm,{method.slit_nm}0", f"Flame of,{words[own.flame]}", f"Taken as,{forms[own.signal_form]}"]
    assert worked(method, tubes, *said).usable
    assert refused(method, tubes, "Slit in nm,1.4") == ["validate.slit-differs"]
    other = "nitrous_oxide_acetylene" if own.flame != "nitrous_oxide_acetylene" else "air_acetylene"
    assert refused(method, tubes, f"Flame of,{words[other]}") == ["validate.flame-differs"]
    form = "steady" if own.signal_form != "continuous" else "height"
    assert refused(method, tubes, f"Taken as,{form}") == ["validate.signal-form-differs"]
    assert refused(method, tubes, "Drop in \N{MICRO SIGN}L,15") == ["validate.injection-differs"]


@pytest.mark.parametrize("name", ["lead-furnace-water", "mercury-vapour-water"])
def test_six_percent_off_is_too_much_right_after_the_calibration_and_not_later(name: str) -> None:
    """EPA 200.9 and 245.1, 9.3.4."""
    method = SHIPPED[name]
    usual = usual_tubes(method)
    first = next(at for at, tube in enumerate(usual) if tube.kind == "check_standard")
    at_once = [*usual[:first], *pair(method, 1, "0.94"), *usual[first + 2 :]]
    later = [*usual[:-2], *pair(method, 2, "0.94")]
    assert worked(method, later).usable
    work = worked(method, at_once)
    assert [check.verdict for check in of_rule(work, "check-first")] == ["fail"]
    assert all(not isinstance(result.outcome, Quantified) for result in work.results)
    assert not work.usable
    assert [check.verdict for check in of_rule(work, "check-standard")] == ["pass"]
    assert worked(method, [*usual[:-2], *pair(method, 2, "0.89")]).voided


def test_a_second_source_beyond_its_window_fails_a_regime_of_each_kind() -> None:
    for name in ("copper-flame-water", "lead-furnace-water", "mercury-vapour-water", "selenium-hydride"):
        method = SHIPPED[name]
        tubes = [
            replace(tube, holds=tube.holds * Decimal("0.85")) if tube.kind == "second_source" else tube
            for tube in usual_tubes(method)
        ]
        work = worked(method, tubes)
        assert not work.usable
        assert [check.verdict for check in of_rule(work, "second-source")] == ["fail"]


def test_water_without_its_spike_is_not_usable_after_the_methods_that_ask_for_one() -> None:
    """EPA 7000B, 9.7: one for each batch; 200.9 and 245.1, 9.4.2: a tenth of the samples."""
    for name in ("copper-flame-water", "lead-furnace-water", "mercury-vapour-water"):
        method = SHIPPED[name]
        without = [tube for tube in usual_tubes(method) if "spiked" not in tube.kind]
        assert not worked(method, without).usable


def test_too_much_background_in_the_furnace_is_not_used() -> None:
    method = SHIPPED["lead-furnace-water"]
    strict = replace(method, conditions=replace(method.conditions, largest_background="0.049"))
    assert not worked(strict, usual_tubes(strict)).usable, "the invented readings have a background of 0.050"


def test_a_run_of_few_solutions_may_be_short() -> None:
    method = SHIPPED["calcium-flame"]
    own = [
        Tube("second_source", "SS", Decimal("2.00")),
        *pair(method, 1),
        Tube("method_blank", "MB", Decimal(0)),
        Tube("control_sample", "CS", Decimal("2.00")),
        Tube("sample", "A/1", Decimal("1.50")),
    ]
    tubes = [*calibration(method), *own, *pair(method, 2)]
    (result,) = worked(method, tubes).results
    assert float(outcome(result).value) == pytest.approx(1.5, rel=0.02)


# Units


def _in_unit(method: Method, unit: str, factor: Decimal) -> Method:
    """The same method with every concentration of a solution written in another unit."""

    def times(text: str) -> str:
        return plain(Decimal(text) * factor) if text else ""

    checks = tuple(
        replace(
            rule,
            low=times(rule.low) if rule.limit_in == "solution" else rule.low,
            high=times(rule.high) if rule.limit_in == "solution" else rule.high,
            expected=times(rule.expected),
        )
        for rule in method.checks
    )
    return replace(
        method,
        solution_unit=unit,  # the rest follows
        standards=tuple(replace(one, concentration=times(one.concentration)) for one in method.standards),
        checks=checks,
        lowest_level=times(method.lowest_level),
        detection_level=times(method.detection_level),
        replicates=replace(method.replicates, judged_from=times(method.replicates.judged_from)),
    )


@pytest.mark.parametrize("name", ["mercury-cold-vapour", "mercury-vapour-water"])
def test_mercury_is_the_same_in_nanograms_micrograms_and_milligrams(name: str) -> None:
    """One sample, one set of readings, three ways to write the method: twelve digits of content, U and limits agree."""
    usual = SHIPPED[name]
    seen: dict[str, tuple[str, ...]] = {}
    for unit, factor in (("ng/L", "1000"), ("ug/L", "1"), ("mg/L", "0.001")):
        method = _in_unit(usual, unit, Decimal(factor))
        tubes = [
            replace(
                tube, holds=tube.holds * Decimal(factor), nominal=tube.nominal and plain(tube.holds * Decimal(factor))
            )
            for tube in usual_tubes(usual)
        ]
        work = worked(method, tubes)
        result = next(one for one in work.results if one.sample == "S-00001")
        found = outcome(result)
        seen[unit] = (
            found.value, found.u, found.value_text, found.expanded_text, result.quantification_limit,
            result.detection_limit, *(portion.value for portion in result.portions),
            *(check.found for check in work.checks if check.unit == "%"), str(work.usable),
        )  # fmt: skip
    assert seen["ng/L"] == seen["ug/L"] == seen["mg/L"]
    holds = next(tube.holds for tube in usual_tubes(usual) if tube.label == "A/1")
    assert float(seen["ng/L"][0]) == pytest.approx(due(usual, holds), rel=0.02), "and it is not a thousandfold off"
