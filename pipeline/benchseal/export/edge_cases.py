"""Rows that no demonstration has and every laboratory meets one day: what a profile makes of each, before it does.

Invented; the names of the cases say what they try. Used by ``export check``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, cast

from benchseal.export.render import preview, render
from benchseal.export.rows import withdrawn_rows
from benchseal.records.released import Delivery, ReleasedRow, Together, sealed
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from benchseal.export.columns import PreviewCell
    from benchseal.problems import Problem
    from benchseal.records.profile import Profile

_ORDINARY: Final = ReleasedRow(
    result_id="0123456789abcdef0123456789abcdef",
    revision="1",
    change_kind="new",
    client_order_id="PO-4711",
    customer_id="ardlea",
    lot_id="LOT-12",
    product="Zinc lozenges",
    lab_sample_id="S-00012",
    client_sample_id="A/12",
    sampled_at="2026-02-27",
    received_at="2026-03-01",
    element_symbol="Pb",
    analyte_name="lead",
    cas_number="7439-92-1",
    fraction="total",
    reported_quantity="content",
    reported_kind="measured",
    value_text="0.067",
    value_number="0.067",
    value_unrounded="0.06712",
    unit_ucum="ug/g",
    unit_display="µg/g",
    basis="as received",
    expanded_uncertainty="0.008",
    coverage_factor="2",
    coverage_probability="0.95",
    uncertainty_unit="ug/g",
    detection_limit="0.015",
    quantitation_limit="0.050",
    dilution_factor="50",
    spec_high="0.5",
    verdict="pass",
    decision_rule="simple acceptance",
    method_id="lead-furnace",
    method_version="1",
    method_sha256="0" * 64,
    technique="furnace",
    wavelength_nm="283.3",
    specification_id="zinc-lozenges",
    specification_version="1",
    specification_sha256="0" * 64,
    run_id="R-00003",
    run_version="1",
    batch_id="AY-01",
    preparation_id="AY-01/Y-A1/1",
    instrument_id="AAS-1",
    instrument_serial="TQ-118",
    run_file_sha256="0" * 64,
    measured_at="2026-03-02T10:15:30Z",
    calibration_id="0" * 64,
    calculation_rules="1",
    analyst_id="p-ana",
    analyst_name="Ana Keel",
    reviewed_by="p-ben",
    reviewed_at="2026-03-02T12:00:00.000Z",
    released_by="p-cleo",
    released_at="2026-03-03T08:00:00.000Z",
    signature_state="signed",
    certificate_no="C-2026-00012",
    certificate_kind="original",
    certificate_sha256="0" * 64,
)
_BELOW: Final = {"reported_kind": "below_limit", "qualifier": "<", "value_text": "<0.050", "value_number": "0.050"}
_LOST: Final = dict.fromkeys(("value_text", "value_number", "value_unrounded", "expanded_uncertainty", "verdict"), "")

_CHANGES: Final[dict[str, dict[str, str]]] = {
    "an ordinary result": {},
    "a result below its limit": _BELOW | {"value_unrounded": "0.050", "expanded_uncertainty": ""},
    "a negative result": {"value_text": "-0.002", "value_number": "-0.002", "value_unrounded": "-0.00213"},
    "a zero with its figures": {"value_text": "0.00", "value_number": "0.00", "value_unrounded": "0.0004"},
    "a large number": {"value_text": "1230000", "value_number": "1230000", "value_unrounded": "1234567.891"},
    "a value of record with many figures": {"value_unrounded": "0.06712345678901234567890123"},
    "a result that could not be determined": {"reported_kind": "not_determined", "note": "a check failed", **_LOST},
    "another unit": {"unit_ucum": "ng/L", "unit_display": "ng/L", "uncertainty_unit": "ng/L", "element_symbol": "Hg"},
    "a result on dry basis": {"basis": "dry"},
    "a result given as a substance": {"expressed_as": "CaCO3", "analyte_name": "calcium as CaCO3", "cas_number": ""},
    "a sum of results": {
        "sum_elements": "Pb Cd", "sum_bound": "upper_bound", "analyte_name": "sum of lead and cadmium, upper bound",
        "element_symbol": "", "cas_number": "", "method_id": "lead-furnace cadmium-furnace", "method_version": "",
    },
    "a corrected result": {
        "revision": "2", "change_kind": "corrected", "replaces_revision": "1",
        "change_reason": "the mass of one portion was read wrongly",
    },
    "no lot, order or dates": dict.fromkeys(("lot_id", "client_order_id", "sampled_at", "received_at"), ""),
    "no limit": dict.fromkeys(("spec_low", "spec_high", "verdict", "decision_rule", "specification_id"), ""),
    "a failed verdict": {"verdict": "fail", "value_text": "0.67", "value_number": "0.67", "value_unrounded": "0.6712"},
    "a conditional pass": {"verdict": "conditional_pass"},
    "a conditional fail": {"verdict": "conditional_fail"},
    "an inconclusive verdict": {"verdict": "inconclusive"},
    "identifiers of 40 characters": {"client_sample_id": "X" * 40, "lot_id": "Y" * 40, "client_order_id": "Z" * 40},
    "separators and quotes in a text": {"product": 'Tablets, 5 mg; "forte" | A\tB'},
    "a text that begins like a formula": {"client_sample_id": "=1+1"},
    "a text that begins with a minus": {"client_sample_id": "-17/b"},
    "figures that look like numbers or dates": {"client_sample_id": "007", "lot_id": "1E5", "product": "05-Mar"},
    "letters of other scripts": {"analyst_name": "Łucja Öğüt 鉛", "product": "Crème à l'eau"},
    "a text of two lines": {"note": "first line\nsecond line"},
    "a text with a blank at its end": {"client_sample_id": "A/12 "},
    "a text of 500 characters": {"note": "n" * 500},
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Tried:
    """What became of one case: its cells as the receiver reads them, and every problem; without one it is written."""

    case: str
    cells: tuple[PreviewCell, ...]
    problems: tuple[Problem, ...]


def edge_cases() -> dict[str, ReleasedRow]:
    """Every case of one result by its name; a withdrawal is the last."""
    made = {name: sealed(replace(_ORDINARY, **cast("dict[str, Any]", changes))) for name, changes in _CHANGES.items()}
    (gone,) = withdrawn_rows([made["an ordinary result"]], "the sample was of another lot")
    return {**made, "a withdrawn result": gone}


def tried(profile: Profile) -> tuple[Tried, ...]:
    """Each case alone under a sound profile (``check_profile``)."""
    delivery = Delivery("D-00000", 1, "2026-03-04T14:02:11.000Z", DocumentRef(profile.id, 1, "0" * 64))
    cases: dict[str, ReleasedRow | Together] = {**edge_cases()}
    if profile.one_row_per != "result":
        cases = _together(profile)
    found = []
    for name, row in cases.items():
        made = render([row], profile, delivery)
        cells = preview([row], profile, delivery)[0]
        found.append(Tried(name, cells, made if isinstance(made, tuple) else ()))
    return tuple(found)


def _together(profile: Profile) -> dict[str, ReleasedRow | Together]:
    """The cases as results of the first element the profile is of, and what only rows of several results have."""
    of = [column.of for column in profile.columns if column.of]
    own = next((name for name in of if " " not in name), "Pb")
    cases = {name: _as_of(row, own) for name, row in edge_cases().items()}
    first, gone = cases["an ordinary result"], cases["a withdrawn result"]
    other = next((name for name in of if name not in {own, first.sum_elements}), "")
    again = sealed(replace(first, result_id="f" * 32, method_id="another-method"))
    found: dict[str, ReleasedRow | Together] = {**cases, "two results of one element": Together((first, again))}
    found["a result no column is of"] = _as_of(first, "Xx")
    if other and " " not in other:
        second = sealed(replace(_as_of(first, other), result_id="e" * 32, analyte_name="another", cas_number=""))
        corrected = sealed(replace(second, revision="2", replaces_revision="1", change_kind="corrected"))
        found["two results in one row"] = Together((first, second))
        found["one result corrected, one as it was"] = Together((first, corrected), held=True)
        found["one result withdrawn, one left"] = Together((gone, second), held=True)
        found["results by two methods"] = Together((first, sealed(replace(second, method_id="another-method"))))
    return found


def _as_of(row: ReleasedRow, element: str) -> ReleasedRow:
    return sealed(replace(row, element_symbol=element)) if row.element_symbol else row
