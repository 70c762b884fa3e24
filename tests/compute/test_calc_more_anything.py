"""``calc``, kinds beside runs: numbers of any size give answers of strict JSON."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from .asking import ask

SIZES: list[float | str] = [0, 1, -1, 1e-30, 1e30, -1e30, 1e15, 1e-15, 3, 0.1, "1e29", 7, 1e16, 1 + 2**-52, 2]
sizes = st.sampled_from(SIZES)
positive = st.sampled_from([one for one in SIZES if float(one) > 0])
not_negative = st.sampled_from([one for one in SIZES if float(one) >= 0])
arrays = st.lists(sizes, max_size=12)
SPIKED = ("signal_with", "signal_without", "added_volume_ml", "added_concentration", "sample_volume_ml")


@settings(deadline=None, max_examples=100)
@given(st.data())
def test_standards_of_any_size_give_strict_answers(data: st.DataObject) -> None:
    pick = data.draw
    n = pick(st.integers(0, 9))
    x, y = (pick(st.lists(sizes, min_size=n, max_size=n)) for _ in range(2))
    ask("standard_addition", added=x, y=y, external_slope=pick(positive), least_r=0.5)
    ask("detection_limit", rule="iupac", blank_signals=pick(arrays), slope=pick(positive), dilution=pick(positive))
    scaling = {key: pick(positive) for key in ("slope", "dilution", "volume_ml", "mass_g")}
    ask("detection_limit", rule="ich", s=pick(not_negative), **scaling)
    levels = pick(st.lists(not_negative, min_size=n, max_size=n))
    ask("variance_function", x=levels * 2, y=[*x, *y])
    signals: dict[str, Any] = {key: pick(sizes if "signal" in key else positive) for key in SPIKED}
    ask("single_addition", **signals, **{f"u_{key}": pick(not_negative) for key in SPIKED})
    low, high = ({"x": pick(positive), "y": pick(sizes), "u_y": pick(not_negative)} for _ in range(2))
    samples = [{"y": one, "u_y": pick(not_negative)} for one in pick(arrays)]
    ask("bracketing", low=low, high=high, samples=samples, window_percent=pick(positive))
    ends = sorted((pick(not_negative), pick(positive)), key=float)
    if float(ends[1]) > 0:
        ask(
            "one_standard",
            coefficients=pick(st.lists(sizes, min_size=2, max_size=3)),
            range_low=ends[0],
            range_high=ends[1],
            standard={"x": pick(positive), "y": pick(sizes)},
            blank_y=pick(sizes),
            samples=[{"y": one} for one in pick(arrays)],
            window_percent=pick(positive),
        )


@settings(deadline=None, max_examples=100)
@given(st.data())
def test_quality_of_any_size_gives_strict_answers(data: st.DataObject) -> None:
    pick = data.draw
    history = pick(st.lists(positive, max_size=5))
    ask(
        "characteristic",
        concentration_mg_per_l=pick(positive),
        absorbance=pick(sizes),
        volume_ul=pick(positive),
        history=history,
    )
    values = pick(st.lists(sizes, max_size=20))
    ask("control_chart", values=values, base_first=10, rules="both")
    ask("control_chart", values=values, mean=pick(sizes), sd=pick(positive), rules="both")
    us = {key: pick(not_negative) for key in ("u", "u_reference")}
    ask("score", value=pick(sizes), reference=pick(sizes), **us, sigma_pt=pick(positive), k=pick(positive))
    route, decimals = pick(st.sampled_from(["oral", "parenteral", "inhalation", "cutaneous"])), pick(st.integers(0, 12))
    ask("pde_limit", pde_ug_per_day=pick(positive), dose_g_per_day=pick(positive), route=route, decimals=decimals)
    ask("species", formula=pick(st.text(min_size=1, max_size=40)), element="Ca", value=pick(sizes))
    ware = st.lists(st.builds(_ware, positive, not_negative), min_size=1, max_size=4)
    ask("dilution_plan", factor=pick(positive), pipettes=pick(ware), flasks=pick(ware), least_aliquot_ml=pick(positive))
    ends = sorted((pick(not_negative), pick(positive)), key=float)
    if float(ends[1]) > 0:
        limits = {"estimate": pick(positive), "range_low": ends[0], "range_high": ends[1]}
        ask("dilution_plan", **limits, pipettes=pick(ware), flasks=pick(ware))


def _ware(volume: float | str, tolerance: float | str) -> dict[str, float | str]:
    return {"volume_ml": volume, "tolerance_ml": tolerance}


shapes = st.sampled_from(["normal", "rectangular", "triangular", "student"])


def _uncertain(value: float | str, u: float | str, shape: str, df: float | str) -> dict[str, Any]:
    given_df = {"df": df} if shape == "student" else {}
    return {"value": value, "u": u, "distribution": shape, **given_df}


@settings(deadline=None, max_examples=100)
@given(st.data())
def test_draws_of_any_size_give_strict_answers(data: st.DataObject) -> None:
    pick = data.draw
    n = pick(st.integers(0, 7))
    x, y = (pick(st.lists(sizes, min_size=n, max_size=n)) for _ in range(2))
    terms = pick(st.lists(st.builds(_uncertain, sizes, not_negative, shapes, positive), max_size=4))
    named = [{"name": str(place), **one} for place, one in enumerate(terms)]
    ask("monte_carlo", measurement="sum", seed=1, draws=1000, terms=named)
    factor = st.builds(_uncertain, positive, not_negative, shapes, positive)
    ask(
        "monte_carlo",
        measurement="content",
        seed=pick(st.integers(0, 9)),
        draws=1000,
        model=pick(st.sampled_from(["line", "line_through_zero", "quadratic"])),
        weighting=pick(st.sampled_from(["none", "1/x", "1/x2"])),
        x=x,
        y=y,
        reading={"y": pick(sizes), "readings": pick(st.integers(1, 5))},
        blank=pick(st.builds(_uncertain, sizes, not_negative, shapes, positive)),
        blank_was=pick(st.sampled_from(["undiluted", "same_dilution"])),
        **{key: pick(factor) for key in ("dilution", "volume_ml", "mass_g", "recovery", "standards")},
    )


@settings(deadline=None, max_examples=50)
@given(st.data())
def test_draws_on_a_good_curve_with_inputs_of_any_size(data: st.DataObject) -> None:
    pick = data.draw
    factor = st.builds(_uncertain, positive, not_negative, shapes, positive)
    ask(
        "monte_carlo",
        measurement="content",
        seed=1,
        draws=1000,
        model="quadratic",
        x=[0, 1, 2, 3, 4, 5],
        y=[0.001, 0.21, 0.405, 0.58, 0.745, 0.9],
        reading={"y": 0.4},
        **{key: pick(factor) for key in ("dilution", "volume_ml", "mass_g", "recovery", "standards")},
    )
