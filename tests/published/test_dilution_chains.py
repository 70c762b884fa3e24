"""Chains of dilutions against printed worked examples: Harvey, Analytical Chemistry 2.1, ch. 4; QUAM A1.

Harvey takes the tolerance of a piece for its standard deviation: here it is given as the scatter of filling.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from tests.published.published import figures

from benchseal.planning.working_standards import factor_of, u_of_chain_percent, worksheet_of
from benchseal.problems import Problem
from benchseal.records.method import Glassware, UncertaintyPlan
from benchseal.records.preparation import DilutionStep
from benchseal.records.registers import StandardLot

PUBLISHED = figures("dilution_chains")


def ware(pieces: dict[str, dict[str, str]], half_range: str = "") -> UncertaintyPlan:
    """Pieces at hand: kind to nominal volume to its standard deviation."""
    found = tuple(
        Glassware(f"{kind} {nominal}", kind, nominal, "0", sd)  # type: ignore[arg-type]  # pipette or flask
        for kind, own in pieces.items()
        for nominal, sd in own.items()
    )
    return UncertaintyPlan("0", "0", "0", "0", "2", "test", glassware=found, temperature_half_range_k=half_range)


def chain(*steps: str) -> tuple[DilutionStep, ...]:
    return tuple(DilutionStep(*step.split("/")) for step in steps)


def lot(value: str = "1000", u_percent: str = "0.3", **changes: str) -> StandardLot:
    return StandardLot(
        "L-1", "Cu", "calibration", value, "mg/L", u_percent, "a", "C-1", "2026-01-02", "2026-12-31", **changes
    )


@pytest.mark.parametrize("example", PUBLISHED["harvey"], ids=lambda one: one["name"])
def test_printed_chains(example: dict[str, object]) -> None:
    pieces = ware(example["pieces"])  # type: ignore[arg-type]
    steps = chain(*example["steps"])  # type: ignore[misc]
    assert factor_of(steps) == Fraction(str(example["factor"]))
    printed = str(example["printed_relative_u"])
    places = len(printed.partition(".")[2])
    assert f"{u_of_chain_percent(steps, pieces) / 100:.{places}f}" == printed


def test_the_flask_of_quam_a1() -> None:
    flask = PUBLISHED["quam_a1"]["flask"]
    pieces = (
        Glassware("flask", "flask", flask["nominal_ml"], flask["tolerance_ml"], flask["s_fill_ml"]),
        Glassware("exact", "pipette", "10", "0", "0"),
    )
    cold = UncertaintyPlan("0", "0", "0", "0", "2", "test", glassware=pieces, temperature_half_range_k="4")
    warm_pipette = 4 * 2.1e-4 / 3**0.5  # the pipette is as warm as the flask; the example has none
    u = ((u_of_chain_percent(chain("10/100"), cold) / 100) ** 2 - warm_pipette**2) ** 0.5 * 100
    assert f"{u:.2f}" == flask["printed_u_ml"]
    assert u == pytest.approx(float(flask["recomputed_u_ml"]), rel=1e-9)


# What the worksheet chooses

BENCH = ware({
    "pipette": {"1": "0.006", "2": "0.006", "5": "0.01", "10": "0.02", "20": "0.03", "25": "0.03", "50": "0.05"},
    "flask": {"50": "0.05", "100": "0.08", "200": "0.1", "250": "0.12", "1000": "0.3"},
})  # fmt: skip
LEVELS = ("0", "0.20", "0.50", "1.00", "2.00", "5.00")


def test_every_level_is_hit_exactly_and_from_one_intermediate() -> None:
    found = worksheet_of(lot(), LEVELS, "mg/L", BENCH)
    assert not isinstance(found, tuple), found
    assert [one.wanted for one in found.standards] == ["0.20", "0.50", "1.00", "2.00", "5.00"]
    own = [Fraction(one.steps[len(found.common)].aliquot_ml) for one in found.standards]
    assert Fraction(found.taken_ml) == sum(own)
    assert found.fillings == -(-sum(own) // Fraction(found.common[-1].final_ml))
    for one in found.standards:
        assert Fraction(1000) / factor_of(one.steps) == Fraction(one.wanted)
        assert one.steps[: len(found.common)] == found.common
        assert len(one.steps) == len(found.common) + 1
        whole = float(one.u_chain_percent) ** 2 + 0.3**2
        assert float(one.u_percent) == pytest.approx(whole**0.5)
        assert float(one.u) == pytest.approx(float(one.holds) * float(one.u_percent) / 100)


def test_the_certificate_s_value_is_what_the_solutions_hold() -> None:
    found = worksheet_of(lot("1002", prepared_as="1000"), ("1.00",), "mg/L", BENCH)
    assert not isinstance(found, tuple)
    assert found.standards[0].holds == "1.002"


def test_the_last_flask_can_be_asked_to_be_large() -> None:
    found = worksheet_of(lot(), ("5.00",), "mg/L", BENCH, "200")
    assert not isinstance(found, tuple)
    assert float(found.standards[0].steps[-1].final_ml) >= 200


def test_what_keeps_a_chain_from_being_made_is_named() -> None:
    (plain,) = worksheet_of(lot(), ("0.37",), "mg/L", BENCH)  # type: ignore[misc]
    (large,) = worksheet_of(lot(), ("0.37",), "mg/L", BENCH, "2500")  # type: ignore[misc]
    assert plain.what.endswith("with this ware gives it. No aliquot is below 1 mL.")
    assert "into a last flask of 2500 mL or more (--least-ml)" in large.what
    assert "smaller flask" in large.remedy
    assert "smaller flask" not in plain.remedy


def test_what_the_ware_cannot_make_is_named() -> None:
    found = worksheet_of(lot("1002.7"), ("1.00", "2.00"), "mg/L", BENCH)
    assert isinstance(found, tuple)
    assert all(isinstance(one, Problem) for one in found)
    assert [one.code for one in found] == ["standard.no-chain", "standard.no-chain"]
    assert all("Add ware" in one.remedy for one in found)
    none = worksheet_of(lot(), ("0",), "mg/L", BENCH)
    assert isinstance(none, tuple)
    assert [one.code for one in none] == ["standard.nothing-wanted"]


def test_a_piece_used_twice_is_one_deviation() -> None:
    """Not as in Harvey, who counts two fillings of one pipette as independent: it would hide a piece that is off."""
    pieces = ware({"pipette": {"10": "0.02"}, "flask": {"100": "0"}})
    assert u_of_chain_percent(chain("10/100", "10/100"), pieces) == pytest.approx(2 * 0.2)


def test_no_ware_concentrates() -> None:
    found = worksheet_of(lot(), ("2000", "1000", "1.00"), "mg/L", BENCH)
    above, itself = found if isinstance(found, tuple) else ()
    assert (above.code, itself.code) == ("standard.no-chain", "standard.no-chain")
    assert "above the stock of 1000 mg/L; no ware concentrates." in above.what
    assert "undiluted" in itself.remedy
    assert "ware" not in above.remedy + itself.remedy
