"""``calc``, kinds beside runs: a refusal stands in the place of the value it concerns; problems have their place."""

from __future__ import annotations

from typing import Any

import pytest

from .asking import GOOD, X, ask, problems

CHART = {"values": [*range(9), 30, 4], "base_first": 10}
WARE = {"pipettes": [{"volume_ml": 5, "tolerance_ml": 0.01}], "flasks": [{"volume_ml": 50, "tolerance_ml": 0.06}]}
CURVE = {"coefficients": [0, 0.2], "range_low": 0, "range_high": 2, "standard": {"x": 1.5, "y": 0.3}}
BRACKET = {"low": {"x": 0.9, "y": 0.181}, "high": {"x": 1.1, "y": 0.219}}
ADDITION = {**GOOD["single_addition"][0], "signal_with": 0.198}
CONTENT = GOOD["monte_carlo"][0]
SCATTER = {"x": [0, 0, 1, 1, 2, 2], "y": [0, 0, 1, 1.1, 2, 2.2]}


def _case(kind: str, more: dict[str, Any], path: str, code: str, name: str) -> Any:  # noqa: ANN401  pytest's own type
    steps = tuple(int(step) if step.isdigit() else step for step in path.split("."))
    return pytest.param(kind, more, steps, code, id=name)


@pytest.mark.parametrize(
    ("kind", "more", "path", "code"),
    [
        _case(
            "detection_limit",
            {"rule": "iupac", "blank_signals": [0.001] * 9, "slope": 1},
            "detection_limit",
            "too-few-blanks",
            "nine blanks",
        ),
        _case(
            "detection_limit",
            {"rule": "ich", "blank_signals": [], "slope": 1, "dilution": 2},
            "sample_quantification_limit",
            "too-few-blanks",
            "no blanks at all",
        ),
        _case(
            "detection_limit",
            {"rule": "iupac", "blank_signals": [0.1] * 12, "slope": 1},
            "quantification_limit",
            "no-blank-scatter",
            "clipped blanks",
        ),
        _case(
            "detection_limit",
            {"rule": "ich", "s": 0, "slope": 1, "dilution": 5},
            "sample_detection_limit",
            "no-blank-scatter",
            "a stated s of zero",
        ),
        _case("standard_addition", {"added": X, "y": [1] * 5, "external_slope": 1}, "r", "all-equal", "flat additions"),
        _case(
            "standard_addition",
            {"added": [0, 1], "y": [1, 2], "external_slope": 1},
            "slope_ratio",
            "too-few-points",
            "no line, no slope ratio",
        ),
        _case("variance_function", {"x": [], "y": []}, "s0", "too-few-levels", "no readings"),
        _case(
            "variance_function",
            {"x": [0, 0, 1, 1, 2], "y": [0, 1, 1, 2, 3]},
            "k",
            "too-few-levels",
            "two levels and a single reading",
        ),
        _case(
            "variance_function",
            {"x": [1, 1, 2, 2, 3, 3], "y": [1, 1, 2, 2, 3, 3]},
            "s0",
            "no-spread",
            "no scatter anywhere",
        ),
        _case("variance_function", SCATTER, "levels", "no-scatter-at-zero", "a zeroed zero"),
        _case(
            "variance_function",
            {"x": [0, 0, 1, 1, 2, 2, 3], "y": [0, 1, 1, 2, 2, 4, 3]},
            "levels.3.s",
            "too-few",
            "a level of one reading has no s",
        ),
        _case("single_addition", ADDITION, "concentration", "addition-not-seen", "equal signals"),
        _case("single_addition", ADDITION, "u", "addition-not-seen", "nor an uncertainty of it"),
        _case("bracketing", {**BRACKET, "samples": [{"y": 0.22}]}, "samples.0", "outside-brackets", "above both"),
        _case("bracketing", {**BRACKET, "samples": [{"y": 0.18}]}, "samples.0", "outside-brackets", "below both"),
        _case(
            "bracketing",
            {**BRACKET, "samples": [{"y": 0.2}], "window_percent": 9},
            "samples.0",
            "brackets-wide",
            "standards ten percent away in a window of nine",
        ),
        _case(
            "bracketing",
            {"low": {"x": 1, "y": 0.2}, "high": {"x": 1.1, "y": 0.2}, "samples": [{"y": 0.2}]},
            "samples.0",
            "not-rising",
            "equal readings",
        ),
        _case(
            "bracketing",
            {"low": {"x": 1.1, "y": 0.1}, "high": {"x": 1, "y": 0.2}, "samples": [{"y": 0.15}]},
            "samples.0",
            "not-rising",
            "standards the wrong way round",
        ),
        _case(
            "one_standard",
            {**CURVE, "coefficients": [0, -0.2], "samples": [{"y": 0.1}]},
            "samples.0",
            "not-rising",
            "a falling curve",
        ),
        _case(
            "one_standard",
            {**CURVE, "coefficients": [0, 0.2, -0.06]},
            "factor",
            "not-rising",
            "a vertex within the range",
        ),
        _case(
            "one_standard",
            {**CURVE, "standard": {"x": 2.1, "y": 0.4}},
            "factor",
            "reference-outside",
            "a standard above the range",
        ),
        _case("one_standard", {**CURVE, "blank_y": 0.3}, "net", "no-sensitivity", "standard and blank read alike"),
        _case(
            "one_standard",
            {**CURVE, "coefficients": [-0.5, 0.2]},
            "nominal",
            "no-signal",
            "a curve below zero at the standard",
        ),
        _case(
            "one_standard",
            {**CURVE, "standard": {"x": 1.5, "y": 0.24}, "samples": [{"y": 0.1}], "blank_y": 0.001},
            "samples.0",
            "factor-outside",
            "a factor above 1.2",
        ),
        _case("one_standard", {**CURVE, "samples": [{"y": 0.41}]}, "samples.0", "over-range", "a sample above"),
        _case(
            "one_standard",
            {**CURVE, "range_low": 1, "samples": [{"y": 0.1}]},
            "samples.0",
            "below-lowest",
            "a sample below",
        ),
        _case(
            "one_standard",
            {**CURVE, "coefficients": [0, 0.2, -0.04], "standard": {"x": 1.5, "y": 0.21}, "samples": [{"y": 0.9}]},
            "samples.0",
            "no-root",
            "a reading above the vertex",
        ),
        _case("characteristic", {"concentration_mg_per_l": 1, "absorbance": 0}, "refused", "no-signal", "no signal"),
        _case(
            "characteristic",
            {"concentration_mg_per_l": 1, "absorbance": -0.1, "history": [1, 2, 3]},
            "within_window",
            "no-signal",
            "a negative signal has no expectation",
        ),
        _case(
            "characteristic",
            {"concentration_mg_per_l": 1, "absorbance": 0.1, "history": [1, 2]},
            "expected_absorbance",
            "too-few",
            "two days are no history",
        ),
        _case("control_chart", {**CHART, "base_first": 9}, "charts.0.mean", "base-too-few", "a base of nine"),
        _case(
            "control_chart", {**CHART, "base_first": 12}, "charts.0.breaks", "base-too-long", "a base of twelve of 11"
        ),
        _case("control_chart", {"values": [], "base_first": 10}, "charts.0.s", "base-too-long", "no values"),
        _case(
            "control_chart",
            {"values": [1] * 12, "base_first": 10},
            "charts.0.control",
            "no-spread",
            "a base without scatter",
        ),
        _case(
            "control_chart",
            {**CHART, "lots": ["a"] * 10 + ["b"]},
            "charts.1.warning",
            "base-too-long",
            "a new lot has no base yet",
        ),
        _case(
            "score", {"value": 1, "u": 0, "reference": 1, "u_reference": 0}, "zeta", "zero-u", "nothing to divide by"
        ),
        _case(
            "score",
            {"value": 1, "u": 0, "reference": 1, "u_reference": 0, "sigma_pt": 1},
            "e_n",
            "zero-u",
            "E_n neither",
        ),
        _case(
            "pde_limit",
            {"pde_ug_per_day": 0.1, "dose_g_per_day": 5, "route": "oral", "decimals": 1},
            "limit_text",
            "rounds-to-zero",
            "nothing left of 0.02",
        ),
        _case(
            "pde_limit",
            {"pde_ug_per_day": "1e30", "dose_g_per_day": "1e-30", "route": "oral", "decimals": 12},
            "limit_text",
            "too-many-digits",
            "sixty figures",
        ),
        _case("species", {"formula": "CaCO3", "element": "Mg"}, "factor", "formula-unfit", "an element not in it"),
        _case(
            "species", {"formula": "Ca(CO3", "element": "Ca", "value": 1}, "result", "formula-unfit", "a bracket open"
        ),
        _case("species", {"formula": "Ca\n", "element": "Ca"}, "refused", "formula-unfit", "a line end"),
        _case("dilution_plan", {"factor": 1, **WARE}, "plans", "nothing-to-dilute", "a factor of 1"),
        _case(
            "dilution_plan",
            {"estimate": 2, "range_low": 0, "range_high": 2, **WARE},
            "plans",
            "nothing-to-dilute",
            "a solution at the top of the range",
        ),
        _case("dilution_plan", {"factor": 500, **WARE}, "plans", "no-dilution-plan", "five times what two steps give"),
        _case(
            "dilution_plan",
            {"factor": 100, "most_steps": 1, **WARE},
            "plans",
            "no-dilution-plan",
            "two steps not allowed",
        ),
        _case(
            "dilution_plan",
            {"factor": 10, "least_aliquot_ml": 6, **WARE},
            "plans",
            "no-dilution-plan",
            "no pipette large enough",
        ),
        _case("monte_carlo", {"measurement": "sum", "seed": 1, "terms": []}, "value", "too-few", "no terms"),
        _case(
            "monte_carlo",
            {"measurement": "sum", "seed": 1, "terms": [{"name": "a", "value": 1}]},
            "mean",
            "zero-u",
            "nothing is uncertain",
        ),
        _case("monte_carlo", {**CONTENT, "x": [1], "y": [1]}, "gum", "too-few-points", "one standard"),
        _case("monte_carlo", {**CONTENT, "reading": {"y": 0.9}}, "validated", "over-range", "a sample over range"),
        _case(
            "monte_carlo",
            {**CONTENT, "y": [1, 9, 2, 8, 3], "reading": {"y": 4.5}},
            "refused",
            "slope-not-significant",
            "a slope in noise",
        ),
        _case(
            "monte_carlo",
            {**CONTENT, "weighting": "given", "weights": [1] * 5},
            "sd",
            "no-weight",
            "a sample without weight",
        ),
        _case(
            "monte_carlo",
            {**CONTENT, "mass_g": {"value": 0.5, "u": 0.3}},
            "interval_symmetric",
            "draws-without-value",
            "a mass that may be negative",
        ),
        _case(
            "monte_carlo",
            {
                "measurement": "sum",
                "seed": 1,
                "draws": 1000,
                "terms": [{"name": "a", "value": 0, "u": 1, "distribution": "student", "df": 2}],
            },
            "sd",
            "no-moment",
            "t with two degrees has no sd",
        ),
        _case(
            "monte_carlo",
            {
                "measurement": "sum",
                "seed": 1,
                "draws": 1000,
                "terms": [{"name": "a", "value": 0, "u": 1, "distribution": "student", "df": 1}],
            },
            "mean",
            "no-moment",
            "t with one degree has no mean",
        ),
        _case(
            "monte_carlo",
            {
                "measurement": "sum",
                "seed": 1,
                "draws": 1000,
                "terms": [{"name": "a", "value": 0, "u": 1, "distribution": "student", "df": 0.5}],
            },
            "validated",
            "df-below-one",
            "half a degree",
        ),
        _case(
            "monte_carlo",
            {"measurement": "sum", "seed": 1, "draws": 1000, "terms": [{"name": "a", "value": 0, "u": 9.9}]},
            "validated",
            "too-few-draws",
            "a thousand draws cannot tell",
        ),
    ],
)
def test_refusals_stand_in_place(kind: str, more: dict[str, Any], path: tuple[str | int, ...], code: str) -> None:
    value: Any = ask(kind, **more)
    for step in path:
        value = value[step]
    inner = value if path == ("refused",) else value["refused"]
    assert inner["code"] == f"calc.{code}"
    assert inner["what"]
    assert inner["remedy"]


SUM = {"kind": "monte_carlo", "measurement": "sum", "seed": 1}


@pytest.mark.parametrize(
    ("request_", "code", "where"),
    [
        pytest.param(
            {"kind": "detection_limit", "rule": "ich", "slope": 1},
            "calc.keys-do-not-fit",
            "$",
            id="neither s nor blanks",
        ),
        pytest.param(
            {"kind": "detection_limit", "rule": "iupac", "s": 1, "slope": 0},
            "calc.number-out-of-bounds",
            "$.slope",
            id="a flat slope",
        ),
        pytest.param(
            {"kind": "detection_limit", "rule": "iupac", "s": 1, "slope": 1, "mass_g": 1},
            "calc.keys-do-not-fit",
            "$",
            id="a mass without a volume",
        ),
        pytest.param(
            {"kind": "control_chart", "values": [1], "mean": 1}, "calc.keys-do-not-fit", "$", id="a mean without s"
        ),
        pytest.param(
            {"kind": "control_chart", "values": [1], "mean": 1, "sd": 1, "base_first": 10},
            "calc.keys-do-not-fit",
            "$",
            id="a base period and a stated mean",
        ),
        pytest.param(
            {"kind": "control_chart", "values": [1, 2], "base_first": 10, "lots": ["a"]},
            "calc.lengths-differ",
            "$.lots",
            id="a value without lot",
        ),
        pytest.param({"kind": "score", "value": 1, "reference": 1}, "calc.keys-do-not-fit", "$", id="no score asked"),
        pytest.param(
            {"kind": "dilution_plan", "factor": 5, "pipettes": [], "flasks": WARE["flasks"]},
            "calc.number-out-of-bounds",
            "$.pipettes",
            id="no pipettes",
        ),
        pytest.param(
            {"kind": "dilution_plan", "estimate": 5, **WARE},
            "calc.keys-do-not-fit",
            "$",
            id="an estimate without range",
        ),
        pytest.param(
            {"kind": "dilution_plan", "estimate": 5, "range_low": 2, "range_high": 1, **WARE},
            "calc.limits-crossed",
            "$.range_low",
            id="a range the wrong way round",
        ),
        pytest.param(
            {"kind": "dilution_plan", "factor": 5, "most_steps": 3, **WARE},
            "calc.number-out-of-bounds",
            "$.most_steps",
            id="three steps",
        ),
        pytest.param(
            {**SUM, "draws": 2_000_001, "terms": []}, "calc.number-out-of-bounds", "$.draws", id="too many draws"
        ),
        pytest.param({**SUM, "seed": 0.5, "terms": []}, "calc.number-out-of-bounds", "$.seed", id="half a seed"),
        pytest.param(
            {**SUM, "terms": [], "model": "line"}, "calc.key-unknown", "$.model", id="a key of the other form"
        ),
        pytest.param(
            {**SUM, "terms": [{"name": "a", "value": 1, "u": 1, "half_width": 1}]},
            "calc.keys-do-not-fit",
            "$.terms[0]",
            id="a half width of a normal",
        ),
        pytest.param(
            {**SUM, "terms": [{"name": "a", "value": 1, "distribution": "rectangular"}]},
            "calc.keys-do-not-fit",
            "$.terms[0]",
            id="a rectangle without width",
        ),
        pytest.param(
            {**SUM, "terms": [{"name": "a", "value": 1, "u": 1, "distribution": "student"}]},
            "calc.key-missing",
            "$.terms[0].df",
            id="student without degrees",
        ),
        pytest.param(
            {**SUM, "terms": [{"name": "a", "value": 1}, {"name": "a", "value": 1}]},
            "calc.name-twice",
            "$.terms[1].name",
            id="a name twice",
        ),
        pytest.param(
            {"kind": "monte_carlo", **CONTENT, "weights": [1] * 5},
            "calc.keys-do-not-fit",
            "$",
            id="weights without given",
        ),
        pytest.param(
            {"kind": "monte_carlo", **{k: v for k, v in CONTENT.items() if k != "volume_ml"}},
            "calc.keys-do-not-fit",
            "$",
            id="a mass and no volume",
        ),
        pytest.param(
            {"kind": "monte_carlo", **CONTENT, "recovery": {"value": 0}},
            "calc.number-out-of-bounds",
            "$.recovery.value",
            id="no recovery",
        ),
        pytest.param(
            {"kind": "monte_carlo", **CONTENT, "moisture": {"value": 1}},
            "calc.number-out-of-bounds",
            "$.moisture.value",
            id="all water",
        ),
    ],
)
def test_problems(request_: object, code: str, where: str) -> None:
    assert (code, where) in problems(request_)
