"""Sums as released rows: every field against the record it must come from; rows without sums are what they were."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.export.test_profiles import CHANGE, FILE
from tests.export.test_rows import BELOW, QUANTIFIED, evidence, result, rows_of

from benchseal.compute.sums import Addend, worked_sum
from benchseal.export.profiles import chosen
from benchseal.export.rows import withdrawn_rows
from benchseal.records.profile import Choose, Profile
from benchseal.records.released import ROW_FIELDS, is_sealed
from benchseal.records.run import DocumentRef
from benchseal.records.specification import SumRequirement

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence
    from benchseal.records.results import Outcome, WorkedResult
    from benchseal.records.specification import BoundRule

CADMIUM = DocumentRef("cadmium-furnace", 2, "cc" * 32)


def asked(bound: BoundRule = "upper_bound") -> SumRequirement:
    return SumRequirement(
        "pb-cd", ("Pb", "Cd"), "content", "ug/g", bound, "0.50", "simple", "half_up", 3, "report", "invented"
    )


def parts(lead: Outcome = QUANTIFIED) -> tuple[WorkedResult, WorkedResult]:
    own = {"basis": "as received"}
    return (
        result(lead, **own),
        result(BELOW, result_id="2" * 32, element="Cd", method=CADMIUM, **own),
    )


def with_sum(bound: BoundRule = "upper_bound", lead: Outcome = QUANTIFIED) -> Evidence:
    both = parts(lead)
    held = evidence(*both)
    ref = both[0].specification
    worked = worked_sum("L-1", "S-00007", asked(bound), ref, [Addend(one, "2") for one in both])
    return replace(held, sums=(worked,))


def test_every_field_of_a_sum() -> None:
    held = with_sum()
    *results, row = rows_of(held)
    assert [one.element_symbol for one in results] == ["Pb", "Cd"]
    expected = {
        "result_id": held.sums[0].sum_id, "revision": "1", "change_kind": "new",
        "client_order_id": "PO-5", "customer_id": "ardlea", "lot_id": "A-1", "product": "Lozenge",
        "lab_sample_id": "S-00007", "client_sample_id": "CS-9", "sampled_at": "2026-02-27", "received_at": "2026-03-01",
        "analyte_name": "sum of lead and cadmium, upper bound", "fraction": "total",
        "sum_elements": "Pb Cd", "sum_bound": "upper_bound", "flags": "parts_below_limit",
        "reported_quantity": "content", "reported_kind": "measured", "value_text": "0.117", "value_number": "0.117",
        "value_unrounded": "0.117000000000", "unit_ucum": "ug/g", "unit_display": "µg/g", "basis": "as received",
        "expanded_uncertainty": "0.021", "coverage_factor": "2", "coverage_probability": "0.95",
        "uncertainty_unit": "ug/g", "spec_high": "0.50", "verdict": "pass", "decision_rule": "simple",
        "method_id": "lead-furnace cadmium-furnace", "technique": "furnace",
        "wavelength_nm": "283.3", "specification_id": "lozenge", "specification_version": "2",
        "specification_sha256": "bb" * 32, "run_id": "R-00012", "run_version": "2", "batch_id": "B-1",
        "preparation_id": "A-1/1 A-1/2", "instrument_id": "furnace-1", "instrument_serial": "SN-77",
        "run_file_sha256": "04" * 32, "measured_at": "2026-03-03T09:00:00Z", "calibration_id": "03" * 32,
        "calculation_rules": "1", "analyst_id": "ines nora", "analyst_name": "Ines; Nora", "reviewed_by": "rolf",
        "reviewed_at": "2026-03-04T08:00:00.000Z", "released_by": "quinn", "released_at": "2026-03-04T10:00:00.000Z",
        "signature_state": "signed", "certificate_no": "C-2026-00003", "certificate_kind": "original",
        "certificate_sha256": "ff" * 32,
    }  # fmt: skip
    given = {name: getattr(row, name) for name in ROW_FIELDS if getattr(row, name) and name != "record_sha256"}
    assert given == expected
    assert is_sealed(row)
    assert not is_sealed(replace(row, sum_bound="lower_bound"))


def test_rows_of_results_are_the_same_with_and_without_a_sum() -> None:
    held = with_sum()
    alone = rows_of(replace(held, sums=()))
    assert rows_of(held)[:2] == alone


@pytest.mark.parametrize(
    ("bound", "kind", "text", "expanded"),
    [
        pytest.param("upper_bound", "below_limit", "<0.100", "", id="less than the limits together"),
        pytest.param("medium_bound", "measured", "0.050", "0.041", id="half of them"),
        pytest.param("lower_bound", "measured", "0.000", "", id="zero"),
    ],
)
def test_no_part_quantified(bound: BoundRule, kind: str, text: str, expanded: str) -> None:
    """Twice 0.0498765432109: together 0.0997530864218, half 0.0499; U of the half 2 x 0.04988 x sqrt(2/12) = 0.0407."""
    row = rows_of(with_sum(bound, BELOW))[-1]
    assert (row.reported_kind, row.value_text, row.expanded_uncertainty) == (kind, text, expanded)
    assert (row.coverage_factor, row.uncertainty_unit) == (("2", "ug/g") if expanded else ("", ""))
    assert row.flags == "no_part_quantified"
    assert row.qualifier == ("<" if kind == "below_limit" else "")


def test_a_sum_is_corrected_and_withdrawn_like_a_result() -> None:
    held = with_sum()
    row = rows_of(held, {held.sums[0].sum_id: 1})[-1]
    assert (row.revision, row.change_kind, row.replaces_revision) == ("2", "corrected", "1")
    (gone,) = withdrawn_rows([row], "wrong lot")
    assert (gone.revision, gone.value_text, gone.sum_elements, gone.verdict) == ("3", "", "Pb Cd", "")
    supplement = replace(held, certificate=replace(held.certificate, kind="supplement"))
    assert rows_of(supplement, {held.sums[0].sum_id: 2})[-1].change_kind == "corrected"  # withdrawn before


def test_a_sum_of_results_the_evidence_does_not_hold_stops() -> None:
    held = with_sum()
    lost = replace(held.sums[0].parts[0], result_id="3" * 32)
    broken = replace(held, sums=(replace(held.sums[0], parts=(lost, held.sums[0].parts[1])),))
    with pytest.raises(RuntimeError, match="rests on results that its evidence does not hold"):
        rows_of(broken)


@pytest.mark.parametrize(
    ("methods", "count"),
    [
        pytest.param((), 3, id="all"),
        pytest.param(("lead-furnace",), 1, id="one part"),
        pytest.param(("lead-furnace", "cadmium-furnace", "other"), 3, id="both parts and more"),
    ],
)
def test_a_profile_gets_a_sum_with_all_its_parts(methods: tuple[str, ...], count: int) -> None:
    profile = Profile("profile", "partner", "Partner", FILE, "refuse", (CHANGE,), choose=Choose(methods=methods))
    assert len(chosen(rows_of(with_sum()), profile)) == count
