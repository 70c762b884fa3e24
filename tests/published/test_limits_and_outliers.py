"""Detection limits, outliers, quantiles and combined uncertainty against published figures."""

from __future__ import annotations

import pytest

from benchseal.compute.budget import u_of_volume
from benchseal.compute.outliers import DIXON_CRITICAL, grubbs_critical
from benchseal.compute.quantiles import t_quantile

from .published import calc, digits, figures, table


def test_din_32645() -> None:
    """DIN 32645 (1994), worked example: 0.07 (0.0698), 0.14, 0.212."""
    data = figures("detection_limit_examples")["din32645"]
    found = calc(kind="detection_limit", rule="calibration_line", x=data["x"], y=data["y"], alpha=0.01, beta=0.01)
    printed, full = data["published"], data["recomputed"]
    assert round(found["decision_limit"], 4) == printed["x_decision_4dp"]
    assert round(found["detection_limit"], 2) == printed["x_detection"]
    assert round(found["quantification_limit"], 3) == printed["x_quant_k3"]
    assert digits(found["decision_limit"], full["x_decision"]) >= 12
    assert digits(found["detection_limit"], full["x_detection_2t_approx"]) >= 12
    assert digits(found["detection_limit_noncentral"], full["x_detection_noncentral_t"]) >= 11
    assert digits(found["quantification_limit"], full["x_quant_k3_two_sided_t995"]) >= 10


@pytest.mark.parametrize("name", ["a", "b"])
def test_epa_mdl(name: str) -> None:
    """Berthouex and Brown, Statistics for Environmental Engineers, 2nd ed., example 14.1: 1.0 and 1.3."""
    data = figures("detection_limit_examples")["mdl"]
    found = calc(kind="detection_limit", rule="mdl", spiked=data[name])
    assert round(found["mdl"], 1) == data["published"][f"MDL_{name}"]
    assert digits(found["mdl"], data["recomputed"][f"MDL_{name}"]) >= 12
    assert found["mdl_blank"]["refused"]["code"] == "calc.no-blanks"


def test_pooled_mdl_is_not_formed_from_rounded_figures() -> None:
    """The same example prints 0.96 from a rounded sd; full precision gives 0.978."""
    data = figures("detection_limit_examples")["mdl"]["recomputed"]
    found = calc(kind="detection_limit", rule="mdl_pooled", variances=[data["var_a"], data["var_b"]], n=[7, 7])
    assert digits(found["mdl"], data["MDL_pooled"]) >= 12
    assert found["df"] == 12


def test_harvey_outlier_problem() -> None:
    """Harvey, Analytical Chemistry 2.1, chapter 4 problem 30, sample 2: Q 0.462 < 0.466, G 2.16 < 2.290."""
    data = figures("outlier_example")
    dixon = calc(kind="outlier", test="dixon", values=data["values"])
    grubbs = calc(kind="outlier", test="grubbs", values=data["values"])
    printed = data["published"]
    assert (round(dixon["statistic"], 3), dixon["critical"]) == (printed["Q"], printed["Q_crit"])
    assert (round(grubbs["statistic"], 2), round(grubbs["critical"], 2)) == (printed["G"], printed["G_crit"])
    assert not dixon["flagged"]
    assert not grubbs["flagged"]
    assert data["values"][dixon["index"]] == data["values"][grubbs["index"]] == 12.9


@pytest.mark.parametrize("row", table("grubbs_critical"), ids=lambda row: f"n={row['n']}")
def test_grubbs_critical_values(row: dict[str, str]) -> None:
    """Computed elsewhere; n = 8 matches the NIST e-Handbook, 2.0317 and 2.1266."""
    for sides, word in ((1, "one"), (2, "two")):
        for alpha in ("0.05", "0.01"):
            value = grubbs_critical(int(row["n"]), float(alpha), 1 if sides == 1 else 2)
            assert f"{value:.4f}" == f"{float(row[f'{word}_sided_{alpha}']):.4f}"


def test_dixon_critical_values() -> None:
    """Rorabacher, Anal. Chem. 63 (1991) 139; and within 0.007 of 4 million simulated samples."""
    for row in table("dixon_q10_critical"):
        for alpha in (0.10, 0.05, 0.01):
            value = DIXON_CRITICAL[alpha][int(row["n"]) - 3]
            assert value == float(row[f"two_sided_{alpha:.2f}"])
            assert abs(value - float(row[f"simulated_{alpha:.2f}"])) < 0.007


@pytest.mark.parametrize("row", table("t_quantiles"), ids=lambda row: f"df={row['df']}")
def test_student_t(row: dict[str, str]) -> None:
    for probability in ("0.90", "0.95", "0.975", "0.99", "0.995"):
        value = t_quantile(float(probability), float(row["df"]))
        assert abs(value - float(row[f"t_{probability}"])) <= 6e-7 * max(1.0, value)
    two_sided = t_quantile((1 + 0.9545) / 2, float(row["df"]))
    assert abs(two_sided - float(row["k_95.45"])) < 2e-3 * two_sided  # the table's coverage is 0.954499...


def test_leachate_volume_of_quam_a5() -> None:
    """Eurachem/CITAC QUAM, example A5: 332 mL with u 1.8 mL."""
    volume = figures("quam_a5_cadmium")["leachate_volume"]
    v = volume["V_mL"]
    from math import sqrt  # noqa: PLC0415  only here

    fill, read = (
        v * volume[key] / sqrt(6) for key in ("fill_99p5pct_triangular_half_width_rel", "reading_triangular_rel")
    )
    flask = volume["flask_500mL_triangular_half_width_mL"]
    found = u_of_volume(v, flask, sqrt(fill**2 + read**2), 2.0)
    assert abs(found - volume["u_mL_recomputed"]) < 1e-9
    assert round(found, 1) == volume["published_u_mL"]


def test_effective_degrees_of_freedom() -> None:
    """JCGM 100, G.4 formula on three terms: u 0.01755, 32.1 truncated to 32, k(0.975) 2.037 (computed elsewhere)."""
    terms = [{"name": "a", "u": "0.010", "df": 4}, {"name": "b", "u": "0.008", "df": 9}, {"name": "c", "u": "0.012"}]
    found = calc(kind="uncertainty", terms=terms)
    assert (round(found["u"], 5), found["df_effective"], round(found["k"], 3)) == (0.01755, 32, 2.037)
    assert round(found["df_before_truncation"], 1) == 32.1
