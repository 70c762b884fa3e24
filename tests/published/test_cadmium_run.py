"""Cadmium released from ceramic ware, Eurachem/CITAC CG4 (QUAM), example A5, as a run: readings to released amount.

Printed: b1 0.241, b0 0.0087, S 0.005486, c0 0.26 and u(c0) 0.018 mg/L; second edition r 0.036 mg/dm2, u 0.0033 (the
quadrature of its own printed inputs is 0.0035: see the fixture's note).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.compute.making import LAYOUT_REF, METHOD_REF, Shot, bench_of, pb_method, portion_of, requirement_of, run_of

from benchseal.compute.cross_check import Asked, CrossCheck, cross_check
from benchseal.compute.run_work import Worked, work_run, worked_run
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.reader import read_file
from benchseal.records.known import Known
from benchseal.records.layout import Layout
from benchseal.records.method import CalibrationPlan, Method, ReplicateRule, Standard, UncertaintyPlan
from benchseal.records.registers import Instrument, StandardLot
from benchseal.records.results import Quantified, RunWork
from benchseal.records.run import Run, RunDocument
from benchseal.shipped import starter
from benchseal.validate.check import check_run

from .published import FOLDER, figures

if TYPE_CHECKING:
    from benchseal.records.preparation import Portion

DATA: dict[str, Any] = figures("quam_a5_cadmium")
FINAL: dict[str, Any] = figures("quam_a5_release")


def cadmium_method() -> Method:
    """The method of the example: five levels, three readings each, every reading a point, no checks described."""
    factors = sum(u**2 for _, u in FINAL["factors"].values()) ** 0.5
    levels = sorted(set(DATA["calibration"]["c_mg_per_L"]))
    return pb_method(
        id="cd-ware",
        technique="flame",
        element="Cd",
        wavelength_nm="228.8",
        file_names=("Cd ware A5",),
        solution_unit="mg/L",
        signal_unit="A",
        standards=tuple(Standard(f"S{place}", str(level)) for place, level in enumerate(levels, start=1)),
        calibration=CalibrationPlan("line", "none", "readings", 5, "10", "20", "0.990", "test"),
        replicates=ReplicateRule(2, "10", "0", "test"),
        checks=(),
        lowest_level="0.1",
        detection_level="",
        uncertainty=UncertaintyPlan(
            mass_g="0",
            volume_percent=str(100 * FINAL["u_volume_l"] / FINAL["volume_l"]),
            dilution_step_percent="0",
            recovery_percent=str(100 * factors),
            coverage_factor="2",
            source="QUAM A5",
            area_percent=str(100 * FINAL["u_area_dm2"] / FINAL["area_dm2"]),
        ),
    )


def cadmium_run(method: Method) -> Run:
    """Standards in order, then the leachate with its two readings."""
    readings = [str(value) for value in DATA["calibration"]["absorbance"]]
    standards = [
        Shot("standard", one.label, signals=tuple(readings[3 * place : 3 * place + 3]))
        for place, one in enumerate(method.standards)
    ]
    leachate = tuple(str(value) for value in DATA["calibration"]["sample_absorbances_two_readings"])
    return run_of((*standards, Shot("sample", "W1", portion="W1", signals=leachate)), method)


def cadmium_portion() -> Portion:
    """The leachate: 332 mL from 2.37 dm2."""
    return portion_of(
        "W1",
        elements=("Cd",),
        mass_g="",
        area_dm2=str(FINAL["area_dm2"]),
        volume_ml=str(1000 * FINAL["volume_l"]),
    )


def cadmium_lot() -> StandardLot:
    """A standard taken as exact, as the example does."""
    return StandardLot("CD-CAL", "Cd", "calibration", "1", "mg/L", "0", "", "", "2026-01-01", "2027-01-01")


def run_from_file(method: Method) -> Run:
    """The same readings as an instrument text file, by the shipped comma layout, read and checked."""
    layout = read_document(starter("layouts/comma-list.yaml").encode(), "comma-list.yaml")
    assert isinstance(layout, ControlledDocument), layout
    assert isinstance(layout.value, Layout)
    data = (FOLDER / "quam_a5_cadmium.txt").read_bytes()
    documents = read_file(data, "quam_a5_cadmium.txt", layout.value, LAYOUT_REF)
    known = Known(
        methods=((METHOD_REF, method),),
        portions={"W1": (cadmium_portion(),)},
        batches=frozenset(),
        instruments=(Instrument("AA-1", "TQ-F-0001", "flame", "UTC", "2020-01-01"),),
        standard_lots=(cadmium_lot(),),
        now="2026-03-03T00:00:00Z",
    )
    assert len(documents) == 1
    document = documents[0]
    assert isinstance(document, RunDocument), documents
    run = check_run(document, known)
    assert isinstance(run, Run), run
    return run


def constructed_run(method: Method) -> Run:
    return replace(cadmium_run(method), standard_lots=("CD-CAL",))


@pytest.fixture(scope="module", params=[constructed_run, run_from_file], ids=["constructed", "through files"])
def work(request: pytest.FixtureRequest) -> RunWork:
    asked = requirement_of(
        element="Cd", quantity="release_per_area", unit="mg/dm2", methods=("cd-ware",), upper="0.07", decimals=-1
    )
    known = bench_of([cadmium_portion()], [asked], {"CD-CAL": cadmium_lot()})
    found = work_run(request.param(cadmium_method()), known)
    assert isinstance(found, RunWork), found
    assert found.usable, found.findings
    return found


def test_the_file_holds_the_published_readings() -> None:
    run = run_from_file(cadmium_method())
    published = [*DATA["calibration"]["absorbance"], *DATA["calibration"]["sample_absorbances_two_readings"]]
    assert [float(text) for text in run.document.readings.signal] == published
    assert run.document.readings.line == tuple(range(14, 31))


def test_the_curve_agrees_with_the_printed_one(work: RunWork) -> None:
    printed, again = DATA["published"], DATA["recomputed"]
    b0, b1 = map(float, work.calibration.coefficients)
    u_b0, u_b1 = map(float, work.calibration.standard_errors)
    assert (work.calibration.n, work.calibration.df) == (printed["n"], again["df"])
    assert (round(b0, 4), round(b1, 3)) == (printed["B0"], printed["B1"])
    assert (round(u_b0, 4), round(u_b1, 3)) == (printed["u_B0"], printed["u_B1"])
    assert round(float(work.calibration.residual_sd), 6) == 0.005486 == printed["S"]
    assert float(work.calibration.covariance[0][1]) == pytest.approx(again["cov_b0_b1"], rel=1e-9)
    assert float(work.calibration.r_squared) == pytest.approx(again["r2"], rel=1e-9)


def test_the_concentration_agrees_with_the_printed_one(work: RunWork) -> None:
    portion = work.results[0].portions[0]
    c0, u = float(portion.solution_value), float(portion.u_solution)
    assert (round(c0, 2), round(u, 3)) == (DATA["published"]["c0"], DATA["published"]["u_c0"])
    assert (round(c0, 4), round(u, 4)) == (0.2602, 0.0178)
    again = DATA["recomputed"]["predictions"][0]
    assert c0 == pytest.approx(again["x0"], rel=1e-10)
    assert u == pytest.approx(again["s_x0"], rel=1e-10)


def test_the_released_amount_agrees_with_the_printed_one(work: RunWork) -> None:
    """c0 is 0.26017 here, 0.26 in the guide; u(c0) 0.01784, 0.018: hence the half percent."""
    outcome = work.results[0].outcome
    assert isinstance(outcome, Quantified)
    again = FINAL["quadrature_of_the_printed_inputs"]
    assert round(float(outcome.value), 3) == FINAL["published_r_mg_per_dm2"]
    assert float(outcome.value) == pytest.approx(again["r_mg_per_dm2"], rel=1e-3)
    assert float(outcome.u) == pytest.approx(again["u_mg_per_dm2"], rel=5e-3)
    names = {term.name: float(term.u) for term in work.results[0].contributions}
    assert names["area"] == pytest.approx(float(outcome.value) * FINAL["u_area_dm2"] / FINAL["area_dm2"], rel=1e-9)
    assert names["volume"] == pytest.approx(float(outcome.value) * FINAL["u_volume_l"] / FINAL["volume_l"], rel=1e-9)


def test_drawn_again_it_spreads_as_another_simulation_of_the_published_inputs() -> None:
    """Written out here: numpy's least squares, sigma by chi-square, and the printed u of volume, area and factors.

    The factors of the example (temperature, time, acid) are one recovery here, and divide.
    """
    asked = requirement_of(
        element="Cd", quantity="release_per_area", unit="mg/dm2", methods=("cd-ware",), upper="0.07", decimals=-1
    )
    known = bench_of([cadmium_portion()], [asked], {"CD-CAL": cadmium_lot()})
    worked = worked_run(constructed_run(cadmium_method()), known)
    assert isinstance(worked, Worked)
    found = cross_check(worked, asked, worked.work.results[0], Asked(400_000, 11))
    assert isinstance(found, CrossCheck)
    x, y = (np.array(DATA["calibration"][key], dtype=float) for key in ("c_mg_per_L", "absorbance"))
    design = np.stack([np.ones_like(x), x], axis=1)
    b, squares, *_ = np.linalg.lstsq(design, y, rcond=None)
    rng, n, df = np.random.default_rng(5), 400_000, len(x) - 2
    sigma = np.sqrt(squares[0] / rng.chisquare(df, n))
    root = np.linalg.cholesky(np.linalg.inv(design.T @ design))
    b0, b1 = b[:, None] + sigma * (root @ rng.standard_normal((2, n)))
    readings = DATA["calibration"]["sample_absorbances_two_readings"]
    signal = np.mean(readings) + sigma * rng.standard_normal(n) / np.sqrt(len(readings))
    litres, area = (FINAL[name] + FINAL[f"u_{name}"] * rng.standard_normal(n) for name in ("volume_l", "area_dm2"))
    factors = 1 + sum(u**2 for _, u in FINAL["factors"].values()) ** 0.5 * rng.standard_normal(n)
    released = (signal - b0) / b1 * litres / area / factors
    due = np.quantile(released, [0.025, 0.975])
    for end, error, other in zip(found.drawn.symmetric, found.drawn.u_ends, due, strict=True):
        assert abs(end - other) < 6 * error
    assert found.drawn.sd == pytest.approx(float(np.std(released)), rel=0.01)
