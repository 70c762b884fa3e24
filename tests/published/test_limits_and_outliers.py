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


def test_din_32645_interval_of_a_sample() -> None:
    """The same example: half of the 99 % interval at a signal of 3500 is 0.07434."""
    data = figures("detection_limit_examples")["din32645"]
    request = {"kind": "calibration", "model": "line", "x": data["x"], "y": data["y"], "samples": [{"y": 3500}]}
    found = calc(**request, confidence=0.99)
    assert round(found["samples"][0]["half_width"], 5) == data["published"]["ci99_half_at_y3500"]
    assert digits(found["samples"][0]["half_width"], data["recomputed"]["ci99_half_at_y3500"]) >= 12


@pytest.mark.parametrize("name", ["a", "b"])
def test_epa_mdl(name: str) -> None:
    """Berthouex and Brown, Statistics for Environmental Engineers, 2nd ed., example 14.1: 1.0 and 1.3."""
    data = figures("detection_limit_examples")["mdl"]
    found = calc(kind="detection_limit", rule="mdl", spiked=data[name])
    assert round(found["mdl"], 1) == data["published"][f"MDL_{name}"]
    assert digits(found["mdl"], data["recomputed"][f"MDL_{name}"]) >= 12
    assert found["mdl_blank"]["refused"]["code"] == "calc.no-blanks"
    assert "0 method blanks" in found["caution"]


def test_epa_mdl_of_164_blanks() -> None:
    """40 CFR 136 Appendix B revision 2, example (from memory): the 162nd of 164 blanks, 1.9, where some are ND."""
    data, spiked = (figures("detection_limit_examples")[key] for key in ("mdl_blanks", "mdl"))
    blanks = [*["ND"] * (data["blanks"] - len(data["highest"])), *data["highest"]]
    found = calc(kind="detection_limit", rule="mdl", spiked=spiked["a"], blanks=blanks)
    assert found["mdl_blank"] == data["published"]["MDL_b"]
    assert found["mdl"] == max(found["mdl_spiked"], found["mdl_blank"]) == data["published"]["MDL_b"]
    turned = calc(kind="detection_limit", rule="mdl", spiked=spiked["a"], blanks=blanks[::-1])
    assert turned == found


def test_epa_mdl_with_blanks_of_a_published_set() -> None:
    """The rule for blanks that all gave numbers, mean + t s, on set b of example 14.1 taken as blanks.

    Example 14.1 prints s 0.4 and t s 1.3 for them; their mean, 1.614, is added, and the greater limit is the MDL.
    """
    data = figures("detection_limit_examples")["mdl"]
    found = calc(kind="detection_limit", rule="mdl", spiked=data["a"], blanks=data["b"])
    mean, spread = sum(data["b"]) / 7, data["recomputed"]["MDL_b"]
    assert digits(found["mdl_blank"], mean + spread) >= 14
    assert found["mdl"] == found["mdl_blank"] > found["mdl_spiked"]
    below = calc(kind="detection_limit", rule="mdl", spiked=data["a"], blanks=[value - 3 for value in data["b"]])
    assert digits(below["mdl_blank"], spread) >= 13  # a negative mean counts as zero


def test_a_study_of_six_is_no_mdl() -> None:
    """40 CFR 136 Appendix B: at least seven spiked results."""
    found = calc(kind="detection_limit", rule="mdl", spiked=figures("detection_limit_examples")["mdl"]["a"][:6])
    assert found["mdl"]["refused"]["code"] == "calc.too-few"


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


def test_nist_outlier_example() -> None:
    """NIST e-Handbook 1.3.5.17.1: G 2.4687 above 2.032, so the greatest of the eight is an outlier."""
    data = figures("outlier_nist")
    found = calc(kind="outlier", test="grubbs", values=data["values"], sides=1)
    printed = data["published"]
    assert abs(found["statistic"] - printed["G"]) < 1e-4  # 2.46876, cut
    assert round(found["critical"], 3) == printed["critical_one_sided_05"]
    assert found["flagged"]
    assert found["value"] == data["values"][found["index"]] == printed["outlier"]


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


def test_effective_degrees_of_freedom_of_jcgm_100_g4() -> None:
    """JCGM 100:2008, G.4.1 (from memory): 1.03 %, 19.0, 2.2 %. The guide reads 19.0 as 19, a cut 18.9987 is 18."""
    data = figures("gum_effective_df")["g4"]
    terms = [
        {"name": f"x{i}", "u": u, "df": df} for i, (u, df) in enumerate(zip(data["u_percent"], data["df"], strict=True))
    ]
    found, printed = calc(kind="uncertainty", terms=terms), data["published"]
    assert round(found["u"], 2) == printed["u_percent"]
    assert round(found["df_before_truncation"], 1) == printed["df_effective"]
    assert found["df_effective"] == 18
    assert round(t_quantile(0.975, 19), 2) == printed["t95"]
    assert round(found["k"], 2) == 2.10
    assert round(found["expanded"], 1) == printed["expanded_percent"]


def test_end_gauge_of_jcgm_100_h1() -> None:
    """JCGM 100:2008, H.1: comparison 9.7 nm, length 32 nm; U99 93 nm (from memory), formed from the rounded 32."""
    data = figures("gum_effective_df")["h1"]
    answers = {
        part: calc(
            kind="uncertainty",
            confidence=0.99,
            terms=[
                {"name": f"x{i}", "u": u, "df": df}
                for i, (u, df) in enumerate(zip(data[part]["u"], data[part]["df"], strict=True))
            ],
        )
        for part in ("comparison", "length")
    }
    assert round(answers["comparison"]["u"], 1) == data["comparison"]["published"]["u"]
    printed = data["comparison"]["published"]
    scaled = answers["comparison"]["df_before_truncation"] * (printed["u"] / answers["comparison"]["u"]) ** 4
    assert round(scaled, 1) == printed["df"]
    assert round(answers["length"]["u"]) == data["length"]["published"]["u"]
    assert round(answers["length"]["k"] * 32) == data["length"]["published"]["expanded_99"]


def test_effective_degrees_of_freedom() -> None:
    """JCGM 100, G.4 formula on three terms: u 0.01755, 32.1 truncated to 32, k(0.975) 2.037 (computed elsewhere)."""
    terms = [{"name": "a", "u": "0.010", "df": 4}, {"name": "b", "u": "0.008", "df": 9}, {"name": "c", "u": "0.012"}]
    found = calc(kind="uncertainty", terms=terms)
    assert (round(found["u"], 5), found["df_effective"], round(found["k"], 3)) == (0.01755, 32, 2.037)
    assert round(found["df_before_truncation"], 1) == 32.1
