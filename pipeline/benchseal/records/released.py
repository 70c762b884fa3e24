"""A released result as receiving systems get it: canonical fields, stable names, one row per result.

Everything is text; an empty text means "does not apply". Field names never change their meaning between versions
of the program; new ones may come. ``docs/manual/exports.md`` explains each.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Literal

from benchseal.records.canonical import Digest, Json, digest_of
from benchseal.records.run import DocumentRef

ChangeKind = Literal["new", "corrected", "withdrawn"]


@dataclass(frozen=True, slots=True)
class ReleasedRow:
    """One released revision of one result, or of one sum of results.

    result_id: 32 hexadecimal figures, the same through every revision. revision: from ``1``. record_sha256: over
    every other field, so that a receiver who stores the row can check it later. reported_kind: ``measured``,
    ``below_limit`` or ``not_determined``. expressed_as: formula of the substance the value is of, empty for the
    element. sum_elements, sum_bound: symbols of a sum separated by blanks, and what stands for its parts below their
    limit; empty for a result. Times are UTC; sampled_at and received_at are dates.
    """

    result_id: str
    revision: str
    change_kind: ChangeKind
    replaces_revision: str = ""
    change_reason: str = ""
    record_sha256: str = ""

    client_order_id: str = ""
    customer_id: str = ""
    lot_id: str = ""
    product: str = ""
    lab_sample_id: str = ""
    client_sample_id: str = ""
    container_id: str = ""
    matrix: str = ""
    sampled_at: str = ""
    received_at: str = ""

    element_symbol: str = ""
    analyte_name: str = ""
    cas_number: str = ""
    fraction: str = ""
    loinc_code: str = ""

    reported_quantity: str = ""
    reported_kind: str = ""
    qualifier: str = ""
    value_text: str = ""
    value_number: str = ""
    value_unrounded: str = ""
    unit_ucum: str = ""
    unit_display: str = ""
    basis: str = ""
    expressed_as: str = ""

    expanded_uncertainty: str = ""
    coverage_factor: str = ""
    coverage_probability: str = ""
    uncertainty_unit: str = ""
    detection_limit: str = ""
    quantitation_limit: str = ""
    dilution_factor: str = ""
    spec_low: str = ""
    spec_high: str = ""
    verdict: str = ""
    decision_rule: str = ""
    flags: str = ""
    note: str = ""

    method_id: str = ""
    method_version: str = ""
    method_sha256: str = ""
    technique: str = ""
    wavelength_nm: str = ""
    specification_id: str = ""
    specification_version: str = ""
    specification_sha256: str = ""

    run_id: str = ""
    run_version: str = ""
    batch_id: str = ""
    preparation_id: str = ""
    instrument_id: str = ""
    instrument_serial: str = ""
    run_file_sha256: str = ""
    measured_at: str = ""
    calibration_id: str = ""
    calculation_rules: str = ""

    analyst_id: str = ""
    analyst_name: str = ""
    reviewed_by: str = ""
    reviewed_at: str = ""
    released_by: str = ""
    released_at: str = ""
    signature_state: str = ""
    certificate_no: str = ""
    certificate_kind: str = ""
    replaces_certificate_no: str = ""
    certificate_sha256: str = ""

    sum_elements: str = ""
    sum_bound: str = ""


@dataclass(frozen=True, slots=True)
class Together:
    """Results that stand in one row of a file: all a certificate put out, or all there is of a sample.

    results: one revision of each, withdrawn ones too, in the order of the certificates. held: the receiver was sent a
    row of this sample before.
    """

    results: tuple[ReleasedRow, ...]
    held: bool = False


@dataclass(frozen=True, slots=True)
class Delivery:
    """What the desk fixes when it plans a delivery, so that every repeat gives the same bytes.

    delivery_id: 1 to 36 letters, figures or hyphens. number: from 1, counted within the profile, no gaps.
    produced_at: ``YYYY-MM-DDTHH:MM:SS.mmmZ``. profile: the approved version used.
    """

    delivery_id: str
    number: int
    produced_at: str
    profile: DocumentRef


ROW_FIELDS: tuple[str, ...] = tuple(field.name for field in dataclasses.fields(ReleasedRow))
DELIVERY_FIELDS: tuple[str, ...] = ("delivery_id", "profile_name", "profile_version", "row_no", "produced_at")
LATER_FIELDS: frozenset[str] = frozenset({"expressed_as", "sum_elements", "sum_bound"})

NUMBER_FIELDS: frozenset[str] = frozenset(
    {
        "row_no",
        "profile_version",
        "revision",
        "replaces_revision",
        "value_number",
        "value_unrounded",
        "expanded_uncertainty",
        "coverage_factor",
        "coverage_probability",
        "detection_limit",
        "quantitation_limit",
        "dilution_factor",
        "spec_low",
        "spec_high",
        "method_version",
        "wavelength_nm",
        "specification_version",
        "run_version",
        "calculation_rules",
    }
)
WHOLE_NUMBERS: frozenset[str] = frozenset(
    {
        "row_no",
        "profile_version",
        "revision",
        "replaces_revision",
        "method_version",
        "specification_version",
        "run_version",
        "calculation_rules",
    }
)
DATE_FIELDS: frozenset[str] = frozenset(
    {"produced_at", "sampled_at", "received_at", "measured_at", "reviewed_at", "released_at"}
)
DAYS: frozenset[str] = frozenset({"sampled_at", "received_at"})


def sealed(row: ReleasedRow) -> ReleasedRow:
    """``row`` with its ``record_sha256``: SHA-256 of the canonical object of every other field.

    Fields that came with later versions (``LATER_FIELDS``) stand in it only where they hold something, so that a row
    keeps its digest through versions of the program.
    """
    return dataclasses.replace(row, record_sha256=_digest(row))


def is_sealed(row: ReleasedRow) -> bool:
    """Whether ``record_sha256`` fits the other fields."""
    return row.record_sha256 == _digest(row)


def _digest(row: ReleasedRow) -> Digest:
    fields: dict[str, Json] = {
        name: getattr(row, name)
        for name in ROW_FIELDS
        if name != "record_sha256" and (name not in LATER_FIELDS or getattr(row, name))
    }
    return digest_of(fields)
