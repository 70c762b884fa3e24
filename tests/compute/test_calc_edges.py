"""Bounds of the numbers in a request, the last that is taken and the first that is not, and what the remedy says."""

from __future__ import annotations

from typing import Any

import pytest

from benchseal.compute.calc import answer
from benchseal.compute.calc_answer import Typed, decimal, number
from benchseal.problems import Problem

from .asking import GOOD, ask

BIG = 10**30
NO_NUMBER = "calc.number-out-of-bounds"


def _with(kind: str, path: tuple[str | int, ...], value: object) -> dict[str, Any]:
    """The good request of a kind with one value changed."""
    if not path:
        raise AssertionError("a path has a step")
    made: dict[str, Any] = {"kind": kind, **GOOD[kind][0]}
    holder: Any = made
    for step in path[:-1]:
        holder[step] = holder[step].copy()
        holder = holder[step]
    holder[path[-1]] = value
    return made


@pytest.mark.parametrize(
    ("kind", "path", "taken", "refused", "remedy"),
    [
        pytest.param(
            "recovery", ("found",), [BIG, "1e30", "-1e30", "1e-30", 0, "-0"], [BIG + 1, "1.1e30", "9.9e-31", "1e1000"],
            "Write zero, or a number between 1e-30 and 1e30 in size.", id="any number",
        ),
        pytest.param(
            "rounding", ("value",), ["1" * 30 + "." + "1" * 33], ["1e-30 ", "1" * 30 + "." + "1" * 34],
            "Write zero, or a number between 1e-30 and 1e30, of at most 64 characters without an exponent.",
            id="a number to be printed",
        ),
        pytest.param(
            "conformity", ("value",), ["<0.1", "< 0.1", "<  1"], ["<0", "<-1", "<", "<<1", ">1"],
            "Write zero, a number between 1e-30 and 1e30, or < and such a number; at most 64 characters.",
            id="a number or below one",
        ),
        pytest.param(
            "characteristic", ("concentration_mg_per_l",), ["1e-30", 1], [0, "-1e-30"],
            "Write a number above zero, between 1e-30 and 1e30.", id="above zero",
        ),
        pytest.param(
            "content", ("u_solution",), [0, "1e-30"], ["-1e-30"], "Write zero, or a number between 1e-30 and 1e30.",
            id="not below zero",
        ),
        pytest.param(
            "calibration", ("confidence",), ["1e-12", "0.999999999999"], [0, 1, "1.5", "9e-13", "0.9999999999999"],
            "Write a number above 0 and below 1, such as 0.95.", id="a probability",
        ),
        pytest.param(
            "content", ("moisture_fraction",), [0, "0.9999"], [1, "-0.0001", "1.5"],
            "Write a number from 0 to below 1.", id="a fraction",
        ),
        pytest.param(
            "calibration", ("samples", 0, "readings"), [1, 1_000_000, "3.0"], [0, 1_000_001, "1.5"],
            "Write a whole number from 1 to 1000000.", id="a count",
        ),
        pytest.param(
            "monte_carlo", ("draws",), [1000], [999, 2_000_001, "1000.5"],
            "Write a whole number from 1000 to 2000000.", id="draws",
        ),
        pytest.param(
            "monte_carlo", ("seed",), [0, 4294967295], [-1, 4294967296, "0.5"],
            "Write a whole number from 0 to 4294967295.", id="a seed",
        ),
        pytest.param(
            "pde_limit", ("decimals",), [0, 12], [-1, 13, "0.5"], "Write a whole number from 0 to 12.", id="places",
        ),
        pytest.param("dilution_plan", ("most_steps",), [1, 2], [0, 3, "1.5"], "Write 1 or 2.", id="steps"),
        pytest.param(
            "dilution_plan", ("plans",), [1, 50], [0, 51, "1.5"], "Write a whole number from 1 to 50.", id="plans",
        ),
    ],
)  # fmt: skip
def test_the_last_number_taken_and_the_first_refused(
    kind: str, path: tuple[str | int, ...], taken: list[object], refused: list[object], remedy: str
) -> None:
    where = "$" + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    for value in taken:
        assert isinstance(answer(_with(kind, path, value)), dict), value
    for value in refused:
        found = answer(_with(kind, path, value))
        assert isinstance(found, tuple), value
        assert [(one.code, one.where, one.remedy) for one in found] == [(NO_NUMBER, where, remedy)], value


@pytest.mark.parametrize(
    ("text", "read"),
    [
        *((text, True) for text in ("1", "+1", "-1", "1.", ".5", "1.50", "1e3", "1E+3", "1e-003")),
        *((text, False) for text in (".", "", "e3", "1e", "1e0003", "1.5.2", " 1", "1 ", "--1", "0x1", "1_000", "inf")),
    ],
)
def test_how_a_number_may_be_written(text: str, read: bool) -> None:
    assert isinstance(answer(_with("recovery", ("found",), text)), dict) is read


def test_text_of_64_characters_is_a_number_and_one_more_is_none() -> None:
    for length, read in ((64, True), (65, False)):
        text = "0." + "1" * (length - 2)
        assert isinstance(answer(_with("recovery", ("found",), text)), dict) is read


def test_a_whole_number_too_long_to_be_quoted_is_not_quoted() -> None:
    """400 binary digits: 2^400 has one more."""
    for value, where in ((2**400, "calc.number-out-of-bounds"), (2**400 - 1, "calc.number-out-of-bounds")):
        found = answer({"kind": "recovery", "found": value, "added": 1})
        assert isinstance(found, tuple)
        assert found[0].code == where
        assert (str(value)[:30] in found[0].what) is (value < 2**400)


def test_fifty_thousand_values_are_looked_at_and_one_more_is_not() -> None:
    """The request itself, its kind and the list are values too; no list of statistics may be that long."""
    codes = []
    for count in (49_997, 49_998):
        found = answer({"kind": "statistics", "values": [1] * count})
        assert isinstance(found, tuple)
        codes.append(found[0].code)
    assert codes == [NO_NUMBER, "calc.too-many-values"]


def test_eight_levels_of_nesting_are_read_and_nine_are_not() -> None:
    def nested(depth: int) -> object:
        value: object = 1
        for _ in range(depth):
            value = [value]
        return value

    codes = []
    for depth in (7, 8):
        found = answer({"kind": "recovery", "added": 1, "found": nested(depth)})
        assert isinstance(found, tuple)
        codes.append(found[0].code)
    assert codes == ["calc.type-wrong", "calc.too-deep"]


def test_a_long_value_is_quoted_short() -> None:
    for length, shown in ((58, f'"{"x" * 58}"'), (59, f'"{"x" * 56}...')):
        found = answer({"kind": "recovery", "found": "x" * length, "added": 1})
        assert isinstance(found, tuple)
        assert found[0].what == f"{shown} is not accepted here."


@pytest.mark.parametrize(
    ("changes", "where", "what"),
    [
        ({"kind": "standard_addition", "added": [1, 2, 3], "y": [1]}, "$.y", "y has 1 values and added has 3"),
        (
            {"kind": "detection_limit", "rule": "mdl_pooled", "variances": [1], "n": [3, 4]},
            "$.n",
            "n has 2 values and variances has 1",
        ),
        (
            {"kind": "control_chart", "values": [1], "lots": ["a", "b"], "mean": 1, "sd": 1},
            "$.lots",
            "lots has 2 values and values has 1",
        ),
        (
            {"kind": "calibration", "model": "line", "x": [1, 2], "y": [1, 2], "weighting": "given", "weights": [1]},
            "$.weights",
            "weights has 1 values and x has 2",
        ),
    ],
)
def test_lists_that_belong_together_are_as_long(changes: dict[str, Any], where: str, what: str) -> None:
    found = answer(changes)
    assert isinstance(found, tuple)
    assert [(one.code, one.where, one.what) for one in found] == [("calc.lengths-differ", where, f"{what}.")]


def test_limits_may_meet_and_may_not_cross() -> None:
    request = {"kind": "conformity", "rule": "simple", "value": 1, "lower": "1.0"}
    assert isinstance(answer({**request, "upper": "1.00"}), dict)
    found = answer({**request, "upper": "0.99"})
    assert isinstance(found, tuple)
    assert [(one.code, one.where) for one in found] == [("calc.limits-crossed", "$.lower")]
    assert found[0].what == 'the lower limit "1.0" exceeds the upper limit "0.99".'
    curve = {key: one for key, one in GOOD["one_standard"][0].items() if key not in {"range_low", "range_high"}}
    found = answer({"kind": "one_standard", **curve, "range_low": 3, "range_high": 2})
    assert isinstance(found, tuple)
    assert [(one.code, one.where) for one in found] == [("calc.limits-crossed", "$.range_low")]


def test_a_name_is_told_where_it_comes_again() -> None:
    terms = [{"name": name, "u": 1} for name in "abca"]
    found = answer({"kind": "uncertainty", "terms": terms})
    assert isinstance(found, tuple)
    assert [(one.where, one.what) for one in found] == [("$.terms[3].name", '"a" is named twice.')]


def test_a_typed_number_keeps_its_digits() -> None:
    """JSON numbers read with their literal: 0.30 as a limit has two places, and 0.1 is a tenth."""
    limit = Typed("0.30")
    assert (limit, limit.literal, str(decimal(limit)), number(limit)) == (0.3, "0.30", "0.30", 0.3)
    assert ask("conformity", rule="pharma", value=Typed("0.304"), upper=limit)["rounded"] == "0.30"
    assert ask("conformity", rule="pharma", value=Typed("0.305"), upper=limit)["verdict"] == "fail"
    plain = ask("conformity", rule="pharma", value=0.305, upper=0.3)  # 0.3 has one place
    assert (plain["rounded"], plain["verdict"]) == ("0.3", "pass")


@pytest.mark.parametrize("value", [True, None, [1], {}])
def test_what_is_no_number_never_becomes_one(value: Any) -> None:  # noqa: ANN401  anything
    with pytest.raises(AssertionError):
        decimal(value)


def test_a_place_is_named_in_at_most_two_hundred_signs() -> None:
    value: Any = 1
    for _ in range(9):
        value = {"k" * 90: value}
    found = answer({"kind": "recovery", "added": 1, "found": value})
    assert isinstance(found, tuple)
    assert (found[0].code, len(found[0].where)) == ("calc.too-deep", 200)


def test_the_words_that_may_stand_are_told_whole() -> None:
    line = {"kind": "calibration", "model": "line", "x": [1, 2, 3], "y": [1, 2, 3]}
    many = answer({**line, "model": "cubic"})
    assert isinstance(many, tuple)
    assert many[0].what == '"cubic" is not known; known: "line", "line_through_zero", "quadratic".'
    one = answer({**line, "weighting": "1/s2", "variance": "known"})
    assert isinstance(one, tuple)
    needs = 'needs weights that are 1/u^2 with u stated: weighting "given" or "variance_function".'
    assert one[0].what == f'variance "known" {needs}'


@pytest.mark.parametrize(
    ("typed", "remedy"),
    [
        pytest.param("1,5", "Write a point as decimal mark, and no mark between thousands.", id="decimal comma"),
        pytest.param("1'000", "Write a point as decimal mark, and no mark between thousands.", id="thousands"),
        pytest.param("\u22122", "Write the minus sign as a plain hyphen.", id="minus sign of typographers"),
        pytest.param("\u20132", "Write the minus sign as a plain hyphen.", id="dash"),
    ],
)
def test_a_number_written_the_way_of_elsewhere_is_not_guessed(typed: str, remedy: str) -> None:
    (problem,) = answer({"kind": "statistics", "values": [typed]})
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where, problem.remedy) == (NO_NUMBER, "$.values[0]", remedy)


@pytest.mark.parametrize("size", ["1", "1e-30", "1e30", "0.123456789012345678901234567891"])
def test_the_mean_of_a_number_and_its_opposite_is_nothing(size: str) -> None:
    """Exact arithmetic on what was typed: taking the first value off and adding it again left 2e13 of 1e30."""
    found = ask("statistics", values=[size, f"-{size}"])
    assert found["mean"] == 0
    assert found["rsd_percent"]["refused"]["code"] == "calc.zero-mean"


def test_a_small_mean_of_large_values_keeps_its_digits() -> None:
    assert ask("statistics", values=["1e20", "-1e20", "3"])["mean"] == 1.0


def test_degrees_of_freedom_are_never_cut_upwards() -> None:
    """Above a milliard a relative allowance for rounding added thousands of them."""
    terms = [{"name": "a", "u": "0.001", "df": 18}, {"name": "b", "u": "0.56223"}]
    found = ask("uncertainty", terms=terms)
    assert found["df_effective"] <= found["df_before_truncation"]
    assert found["df_before_truncation"] - found["df_effective"] < 1


def test_errors_of_a_curve_that_does_not_rise_are_refused_for_that() -> None:
    """The curve reaches every reading, on its falling side too: "no root" would say what is not so."""
    found = ask("calibration", model="quadratic", x=[1, 2, 3, 4, 5, 6], y=[1, 3, "4.1", 4, "3.1", 1])
    codes = {one["refused"]["code"] for one in found["back_calculated_percent_error"]}
    assert codes == {"calc.not-rising"}
    assert found["rse_percent"]["refused"]["code"] == "calc.not-rising"
