"""Results against published numbers: exposures over doses, factors to substances, glassware."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from math import sqrt
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, run_of, standards

from benchseal.compute.run_ware import u_of_pieces
from benchseal.compute.run_work import work_run
from benchseal.demo.starters import documents
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.method import Glassware, UncertaintyPlan
from benchseal.records.results import Quantified, RunWork
from benchseal.records.species import expression_factor
from benchseal.records.specification import Specification

from .published import figures, table

if TYPE_CHECKING:
    from benchseal.problems import Problem

EXPOSURES = {row["element"]: row for row in table("limits/ich_q3d_r2")}
COMPONENTS = {row["element"]: row for row in table("limits/usp_232")}
ROUTES = ("oral", "parenteral", "inhalation", "cutaneous")
CELLS = [
    (element, route) for element, row in sorted(EXPOSURES.items()) for route in ROUTES if row[f"{route}_ug_per_day"]
]
# USP 41 <232>, table 3, is older than ICH Q3D(R2): cells in which it prints another limit than exposure over 10 g. Its
# 1 ug/g for silver by injection is 1.5 rounded down to no places, so that one is taken.
OLDER = {("Cd", "inhalation"), ("Ni", "inhalation"), ("Au", "oral"), ("Au", "parenteral"), ("Au", "inhalation")}


def problems_of(**line: str) -> tuple[Problem, ...]:
    """What the reader of documents says of one line with a limit from a daily exposure."""
    requirement: dict[str, Any] = {
        "element": "Pb",
        "quantity": "content",
        "unit": "ug/g",
        "methods": ["m"],
        "portions": 1,
        "lower": "",
        "upper": "",
        "rule": "simple",
        "rounding": "half_up",
        "decimals": -1,
        "exceedance_means": "investigate",
        "limit_source": "ICH Q3D(R2)",
    }
    whole = {
        "kind": "specification",
        "id": "it",
        "title": "it",
        "product": "it",
        "customer": "it",
        "unit_name": "",
        "agreed": "it",
        "requirements": [requirement | line],
    }
    found = read_document(json.dumps(whole).encode(), "it.yaml")
    return () if isinstance(found, ControlledDocument) else found


# Exposures


@pytest.mark.parametrize(("element", "route"), [cell for cell in CELLS if cell[1] != "cutaneous"])
def test_component_limits_at_ten_grams_are_taken_where_the_editions_agree(element: str, route: str) -> None:
    """USP 41 <232>, table 3, printed for ten grams a day, against ICH Q3D(R2); an older cell is refused with both."""
    exposure = EXPOSURES[element][f"{route}_ug_per_day"]
    component = COMPONENTS[element][f"{route}_ug_per_g"]
    found = problems_of(element=element, upper=component, pde_ug_per_day=exposure, daily_dose_g="10", route=route)
    if (element, route) not in OLDER:
        assert found == ()
        return
    (problem,) = found
    assert problem.code == "documents.specification-exposure"
    assert f"upper {component} is not" in problem.what
    assert f"{exposure} ug/day over 10 g/day" in problem.what


@pytest.mark.parametrize(("element", "route"), CELLS)
@pytest.mark.parametrize("dose", ["0.5", "3", "24"])
def test_the_largest_limit_of_each_cell_is_taken_and_one_step_more_is_not(element: str, route: str, dose: str) -> None:
    """ICH Q3D(R2) in its finished-product form: exposure over the largest daily dose, never above it."""
    exposure = EXPOSURES[element][f"{route}_ug_per_day"]
    step = Decimal("0.0001")
    upper = (Decimal(exposure) / Decimal(dose)).quantize(step, rounding="ROUND_FLOOR")
    line = {"element": element, "pde_ug_per_day": exposure, "daily_dose_g": dose, "route": route}
    assert problems_of(**line, upper=str(upper)) == ()
    assert [one.code for one in problems_of(**line, upper=str(upper + step))] == ["documents.specification-exposure"]


def test_the_exposures_of_the_starters_are_the_published_ones() -> None:
    """Each limit that names ICH Q3D(R2) states exposure, dose and route, and the exposure is the table's."""
    named = []
    for document in (one for one in documents() if one.kind == "specification"):
        read = read_document(document.text.encode(), document.name)
        assert isinstance(read, ControlledDocument)
        assert isinstance(read.value, Specification)
        for line in read.value.requirements:
            said = re.match(r"ICH Q3D\(R2\) (\w+) PDE ([0-9.]+) ug/day ÷ ([0-9.]+) g/day", line.limit_source)
            if said is None:
                assert not line.pde_ug_per_day
                continue
            named.append(line.element)
            assert (line.route, line.pde_ug_per_day, line.daily_dose_g) == said.groups()
            assert Decimal(line.pde_ug_per_day) == Decimal(EXPOSURES[line.element][f"{line.route}_ug_per_day"])
    assert sorted(named) == sorted(["As", "Cd", "Hg", "Pb"] * 2)


# Substances


@pytest.mark.parametrize(
    ("element", "formula", "printed"),
    [
        pytest.param("Ca", "CaCO3", "2.497", id="calcium hardness, Standard Methods 2340 B (from memory)"),
        pytest.param("K", "K2O", "1.205", id="potash of fertilisers, Regulation (EU) 2019/1009, K 0.830 (from memory)"),
        pytest.param("Mg", "MgO", "1.658", id="magnesia of fertilisers, Mg 0.603 of MgO (from memory)"),
        pytest.param("Na", "NaCl", "2.542", id="salt from sodium; labels use 2.5 (from memory)"),
    ],
)
def test_a_result_as_a_substance_is_the_printed_factor_times_the_element(
    element: str, formula: str, printed: str
) -> None:
    method = pb_method(element=element)
    run = run_of((*standards(), *pair(), Shot("sample", "A", 5.0, "A"), *pair()), method)
    lines = [
        requirement_of(element=element, unit="mg/kg", upper="", decimals=-1, expressed_as=substance)
        for substance in ("", formula)
    ]
    work = work_run(run, bench_of([portion_of("A", elements=(element,))], lines))
    assert isinstance(work, RunWork), work
    values = [one.outcome for one in work.results]
    assert isinstance(values[0], Quantified)
    assert isinstance(values[1], Quantified)
    places = len(printed.partition(".")[2])
    assert round(float(values[1].value) / float(values[0].value), places) == float(printed)
    assert round(float(expression_factor(formula, element)), places) == float(printed)


# Glassware


def test_a_flask_of_quam_a1_has_the_printed_uncertainty() -> None:
    """Eurachem QUAM, example A1 (from memory): 100 mL, +-0.1 mL, filling 0.02 mL, +-4 K: u(V) 0.07 mL."""
    flask = Glassware("F", "flask", "100", "0.1", "0.02")
    plan = UncertaintyPlan("0", "0", "0", "0", "2", "test", glassware=(flask,), temperature_half_range_k="4")
    assert round(u_of_pieces(plan, {"F": 100.0}), 2) == 0.07


def test_the_leachate_of_quam_a5_has_the_printed_uncertainty_in_a_result() -> None:
    """Example A5: 332 mL, u 1.83 mL (printed 1.8), as the glassware line of a release per area."""
    volume = figures("quam_a5_cadmium")["leachate_volume"]
    v = float(volume["V_mL"])
    parts = (v * volume[key] / sqrt(6) for key in ("fill_99p5pct_triangular_half_width_rel", "reading_triangular_rel"))
    filling = sqrt(sum(part * part for part in parts))
    tolerance = str(volume["flask_500mL_triangular_half_width_mL"])
    flask = Glassware("cylinder", "flask", "332", tolerance, f"{filling:.15f}")
    plan = UncertaintyPlan("0", "5", "0", "0", "2", "test", glassware=(flask,), temperature_half_range_k="2")
    run = run_of((*standards(), *pair(), Shot("sample", "A", 5.0, "A"), *pair()), pb_method(uncertainty=plan))
    asked = requirement_of(quantity="release_per_area", unit="mg/dm2", upper="", decimals=-1)
    portion = portion_of("A", volume_ml="332", mass_g="", area_dm2="2.37")
    work = work_run(run, bench_of([portion], [asked]))
    assert isinstance(work, RunWork), work
    (one,) = work.results
    assert isinstance(one.outcome, Quantified)
    u_ml = next(float(term.u) for term in one.contributions if term.name == "glassware") / float(one.outcome.value) * v
    assert u_ml == pytest.approx(volume["u_mL_recomputed"], rel=1e-9)
    assert round(u_ml, 1) == volume["published_u_mL"]
    assert not [term for term in one.contributions if term.name == "volume"]
