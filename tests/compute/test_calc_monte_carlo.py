"""``calc`` kind monte_carlo: which figures exist for which distribution, and what a request leaves unsaid."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from .asking import ask

TERM = {"name": "a", "value": 5, "u": 1}
X, Y = [0, 1, 2, 3, 4], [0.001, 0.21, 0.405, 0.61, 0.795]
PLAIN: dict[str, Any] = {
    "measurement": "content", "seed": 3, "draws": 1000, "model": "line", "x": X, "y": Y, "reading": {"y": 0.3},
}  # fmt: skip


def total(*terms: dict[str, Any], **more: object) -> dict[str, Any]:
    return ask("monte_carlo", **{"measurement": "sum", "seed": 1, "draws": 1000, "terms": list(terms), **more})


def code(value: Any) -> str | None:  # noqa: ANN401  any part of an answer
    return value["refused"]["code"] if isinstance(value, dict) else None


@pytest.mark.parametrize(
    ("df", "mean", "spread"),
    [
        pytest.param(1, "calc.no-moment", "calc.no-moment", id="one degree has neither"),
        pytest.param("1.5", None, "calc.no-moment", id="between one and two the mean alone"),
        pytest.param(2, None, "calc.no-moment", id="two degrees have a mean, and still no variance"),
        pytest.param(3, None, None, id="three degrees have both"),
    ],
)
def test_a_t_distribution_shows_the_moments_it_has(df: object, mean: str | None, spread: str | None) -> None:
    """Mean from df > 1, variance from df > 2: moments of Student's t in any book of statistics."""
    found = total({**TERM, "distribution": "student", "df": df})
    assert (code(found["mean"]), code(found["sd"]), code(found["standard_error_mean"])) == (mean, spread, spread)
    assert all(isinstance(end, float) for end in found["interval_symmetric"] + found["standard_error_ends"])


def test_the_fewest_degrees_of_any_term_decide_wherever_it_stands() -> None:
    few, many = ({**TERM, "name": str(df), "distribution": "student", "df": df} for df in (2, 30))
    for terms in ((few, many), (many, few)):
        assert code(total(*terms)["sd"]) == "calc.no-moment"


def test_an_input_that_does_not_vary_takes_no_moment_away() -> None:
    """With u = 0 a t distribution is a point."""
    found = total(TERM, {"name": "b", "value": 1, "u": 0, "distribution": "student", "df": 1})
    assert (code(found["mean"]), code(found["sd"])) == (None, None)


def test_few_points_of_a_curve_take_moments_away_too() -> None:
    """A line through four points leaves two degrees of freedom: its t has no variance. Five points leave three."""
    four = ask("monte_carlo", **{**PLAIN, "x": X[:4], "y": Y[:4]})
    assert (code(four["mean"]), code(four["sd"])) == (None, "calc.no-moment")
    assert four["gum"]["df_effective"] == 2
    assert code(ask("monte_carlo", **PLAIN)["sd"]) is None


def test_degrees_of_freedom_are_a_whole_number_or_a_word() -> None:
    assert total(TERM)["gum"]["df_effective"] == "infinite"
    assert total({**TERM, "distribution": "student", "df": "7.9"})["gum"]["df_effective"] == 7


def test_half_a_degree_of_freedom_has_no_interval_and_keeps_its_u() -> None:
    found = total({**TERM, "distribution": "student", "df": 0.5})
    assert (found["gum"]["u"], found["value"]) == (1.0, 5.0)
    refused = [found["gum"]["k"], found["gum"]["interval"], found["delta"], found["difference_ends"]]
    assert {code(one) for one in refused} == {"calc.df-below-one"}


def test_nothing_uncertain_is_nothing_to_draw() -> None:
    found = total({"name": "a", "value": 5})
    assert {code(found[key]) for key in ("value", "gum", "mean", "delta", "validated")} == {"calc.zero-u"}
    assert (found["draws"], found["seed"], found["measurement"]) == (1000, 1, "sum")


def test_a_sum_of_nothing_says_how_many_terms_it_needs() -> None:
    found = total()
    assert code(found["value"]) == "calc.too-few"
    assert "found 0, needed 1 term" in found["refused"]["what"]


def test_a_curve_of_too_few_points_says_how_many_it_needs() -> None:
    found = ask("monte_carlo", **{**PLAIN, "x": X[:2], "y": Y[:2]})
    assert code(found["mean"]) == "calc.too-few-points"
    assert "found 2, needed 3 points" in found["refused"]["what"]


def test_a_reading_beyond_the_standards_is_refused_with_the_reason() -> None:
    found = ask("monte_carlo", **{**PLAIN, "reading": {"y": 0.9}})
    assert {code(found[key]) for key in ("value", "gum", "sd", "validated")} == {"calc.over-range"}


@pytest.mark.parametrize(("shape", "root"), [("rectangular", 3), ("triangular", 6)])
def test_a_half_width_becomes_a_standard_uncertainty(shape: str, root: int) -> None:
    """a/sqrt(3) and a/sqrt(6): JCGM 100, 4.3.7 and 4.3.9 (from memory)."""
    found = total({"name": "a", "value": 5, "half_width": 0.6, "distribution": shape})
    assert found["gum"]["u"] == pytest.approx(0.6 / sqrt(root), rel=1e-14)


def test_what_a_request_leaves_out_is_as_the_page_says() -> None:
    """One reading, no weighting, 200 000 draws."""
    said = {"reading": {"y": 0.3, "readings": 1}, "weighting": "none"}
    unsaid, told = ask("monte_carlo", **PLAIN), ask("monte_carlo", **{**PLAIN, **said})
    for key in ("value", "gum", "mean", "sd", "interval_shortest", "standard_error_ends", "difference_ends"):
        assert unsaid[key] == told[key]
    short = {key: one for key, one in PLAIN.items() if key != "draws"}
    assert ask("monte_carlo", **short)["draws"] == 200_000


def test_the_ends_of_the_gum_interval_lie_k_u_from_the_value() -> None:
    """Five points of a line: t(0.975; 3) = 3.182446 (any table)."""
    found = ask("monte_carlo", **PLAIN)
    gum = found["gum"]
    assert gum["k"] == pytest.approx(3.182446, abs=5e-7)
    ends = [found["value"] - gum["k"] * gum["u"], found["value"] + gum["k"] * gum["u"]]
    assert gum["interval"] == pytest.approx(ends, rel=1e-14)


def test_the_distances_of_the_ends_are_those_of_the_two_intervals() -> None:
    found = ask("monte_carlo", **{**PLAIN, "draws": 20_000})
    apart = [abs(a - b) for a, b in zip(found["gum"]["interval"], found["interval_symmetric"], strict=True)]
    assert found["difference_ends"] == apart


def test_a_given_weight_of_the_sample_narrows_its_reading() -> None:
    """Weights of one everywhere; a sample of weight 4 has half the standard uncertainty of its reading."""
    weighted = {**PLAIN, "weighting": "given", "weights": [1] * 5}
    one, four = (
        ask("monte_carlo", **{**weighted, "reading": {"y": 0.3, "weight": weight}})["gum"]["u"] for weight in (1, 4)
    )
    assert one == pytest.approx(ask("monte_carlo", **PLAIN)["gum"]["u"], rel=1e-12)
    assert four < one
    none = ask("monte_carlo", **{**weighted, "reading": {"y": 0.3}})
    assert code(none["value"]) == "calc.no-weight"
