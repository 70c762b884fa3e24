"""In which unit a check's expected value is stated, which is often another one than that of what was found.

Found is mostly a percentage of the expected value; that one is a concentration, an amount or a content.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from benchseal.records.results import JudgedKind


def expected_unit(check: JudgedKind, solution_unit: str, *, furnace: bool) -> str:
    """The unit code of what a check expects. solution_unit: of the curve.

    Added amounts are entered in µg, certified contents in µg/g (preparation sheet), acid in percent; a furnace's usual
    sensitivity is a characteristic mass.
    """
    match check:
        case "control_sample":
            return "ug"
        case "reference_material":
            return "ug/g"
        case "acid_match":
            return "%"
        case "sensitivity":
            return "pg" if furnace else solution_unit
        case _:
            return solution_unit
