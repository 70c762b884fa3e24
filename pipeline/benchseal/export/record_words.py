"""The words a field of a row can hold, where they are closed; which fields name a thing; which say how much."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, get_args

from benchseal.records.method import Technique
from benchseal.records.released import NUMBER_FIELDS, WHOLE_NUMBERS, ChangeKind
from benchseal.records.specification import Basis, BoundRule, Quantity

if TYPE_CHECKING:
    from collections.abc import Mapping

WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "change_kind": get_args(ChangeKind),
    "reported_kind": ("measured", "below_limit", "not_determined"),
    "qualifier": ("<",),
    "verdict": ("pass", "fail", "conditional_pass", "conditional_fail", "inconclusive"),
    "basis": get_args(Basis),
    "reported_quantity": get_args(Quantity),
    "sum_bound": get_args(BoundRule),
    "technique": get_args(Technique),
    "signature_state": ("signed", "revoked"),
    "certificate_kind": ("original", "amendment", "supplement"),
    "flags": (
        "calibration_not_recomputable", "comment_required", "dilutions_differ", "parts_below_limit",
        "no_part_quantified",
    ),
}  # fmt: skip
UNITS: Final = frozenset({"unit_ucum", "unit_display", "uncertainty_unit"})
# Of these no two texts may become one: a rule of profiles rests on them, or they say what a value is of.
KEPT_APART: Final = UNITS | {
    "change_kind", "reported_kind", "qualifier", "verdict", "basis", "sum_bound", "expressed_as", "sum_elements",
    "element_symbol", "analyte_name", "customer_id", "method_id", "specification_id", "instrument_id", "analyst_id",
    "signature_state", "certificate_kind", "reported_quantity", "technique",
}  # fmt: skip
# By these a thing is found again, here and there: another name for it would lead to nothing, or to another thing.
NAMES: Final = frozenset({
    "result_id", "record_sha256", "client_order_id", "lot_id", "lab_sample_id", "client_sample_id", "container_id",
    "cas_number", "loinc_code", "method_sha256", "specification_sha256", "run_id", "batch_id", "preparation_id",
    "instrument_serial", "run_file_sha256", "calibration_id", "certificate_no", "replaces_certificate_no",
    "certificate_sha256", "delivery_id", "analyst_name",
})  # fmt: skip
# The one word of a field that a receiver may take for granted, so that a map may leave it blank.
ORDINARY: Final = {"change_kind": "new", "reported_kind": "measured", "basis": "as received"}
MEASURED: Final = (NUMBER_FIELDS - WHOLE_NUMBERS) | {"value_text"}
# Fields that hold identifiers the site gave: another of them would name another customer, method or person.
IDENTIFIERS: Final = frozenset({
    "customer_id", "method_id", "specification_id", "instrument_id", "analyst_id", "reviewed_by", "released_by",
})  # fmt: skip
ELEMENTS: Final = frozenset({"element_symbol", "analyte_name", "expressed_as", "sum_elements"})
VALUES: Final = frozenset({"value_text", "value_number", "value_unrounded"})
WITH_UNIT: Final = VALUES | {
    "expanded_uncertainty", "detection_limit", "quantitation_limit", "spec_low", "spec_high",
}  # fmt: skip


def plain_word(field: str, text: str) -> str:
    """What a reader compares; of units and symbols capital letters matter."""
    exact = UNITS | {"element_symbol", "expressed_as", "sum_elements"}
    return text.strip() if field in exact else text.strip().casefold()
