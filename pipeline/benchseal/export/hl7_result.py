"""One released result as HL7 segments: its value (OBX), its notes (NTE), then under local codes what belongs to it.

All its OBX share one OBX-4, which stays the same through every revision. Nothing is computed but OBX-8, on which side
of its limits a failed value lies. Source: HL7 v2.5.1, chapter 7, from memory; status: table 0085, flags: table 0078.
"""

from __future__ import annotations

from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Final

from benchseal.export.cells import CannotWrite
from benchseal.export.hl7_rules import key
from benchseal.export.hl7_text import LONGEST_CODE, Segment, escaped, held, stamp, too_long
from benchseal.records.released import NUMBER_FIELDS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.export.hl7_text import Components, Field
    from benchseal.records.profile import Hl7, Hl7Code
    from benchseal.records.released import ReleasedRow

LOCAL: Final = "L"  # table 0396: a code agreed between the two
_LONGEST_PERSON: Final = 15  # XCN.1
_LONGEST_NUMBER: Final = {"NM": 16, "SN": 15}  # of NM, and of the number in SN

_MEASURES: Final = ("expanded_uncertainty", "coverage_factor", "detection_limit", "quantitation_limit", "verdict")
_RECORD: Final = ("result_id", "revision", "certificate_no", "lot_id")  # said of a withdrawn result too
_NOTES: Final = ("flags", "note", "change_reason")


def group_of(row: ReleasedRow) -> str:
    """OBX-4, which ST 20 limits: as much of the result's identifier as it holds."""
    return row.result_id[:LONGEST_CODE]


def segments_of(
    row_no: int, row: ReleasedRow, words: Hl7, numbers: Iterator[int]
) -> Iterator[tuple[str, str, Callable[[], Segment]]]:
    """Each segment of a result: its name, the field it is of, and what makes it (raises CannotWrite).

    row_no: what an acknowledgement calls this result. numbers: gives OBX-1 through the message.
    """
    yield "OBX", "value_number", partial(_value, next(numbers), row, words)
    for counted, name in enumerate((name for name in _NOTES if getattr(row, name)), start=1):
        yield "NTE", name, partial(_note, counted, name, row)
    for name in (name for name in _MEASURES + _RECORD if _is_said(name, row)):
        yield "OBX", name, partial(_beside, next(numbers), name, str(getattr(row, name)), row)
    yield "OBX", "row_no", partial(_beside, next(numbers), "row_no", str(row_no), row)


def code_of(row: ReleasedRow, words: Hl7) -> Hl7Code:
    """The receiver's code for a result: that for its product before that for every one. Raises CannotWrite."""
    of = row.element_symbol or row.sum_elements
    own = (
        " ".join(sorted(of.split())), row.reported_quantity, row.fraction, row.basis, row.expressed_as, row.sum_bound,
        row.unit_ucum,
    )  # fmt: skip
    known = {key(code): code for code in words.codes}
    if found := known.get((*own, row.product)) or known.get((*own, "")):
        return found
    named = ", ".join(part for part in (*own, row.product) if part)
    raise CannotWrite(
        "export.hl7-unmapped",
        f"is of {named}, which no code of the profile is for.",
        "Agree on a code with the receiver and add it to codes.",
    )


def _is_said(name: str, row: ReleasedRow) -> bool:
    """What is not there is said of a later revision all the same: the receiver may hold it from an earlier one."""
    return bool(getattr(row, name)) or (row.change_kind != "new" and name in _MEASURES)


def _value(number: int, row: ReleasedRow, words: Hl7) -> Segment:
    code = code_of(row, words)
    identifier: tuple[str, ...] = (code.code, code.name, code.system)
    if row.cas_number:
        identifier += (row.cas_number, row.analyte_name, "CAS")
    value = "" if row.change_kind == "withdrawn" else row.value_number
    kind = "SN" if row.qualifier else "NM"
    at: dict[int, Field] = {
        1: str(number), 2: kind, 3: identifier, 4: group_of(row), 11: _status(row, value),
        14: stamp(row.sampled_at), 16: _people(row), 17: _methods(row),
        18: row.instrument_id, 19: stamp(row.measured_at),
    }  # fmt: skip
    if value:
        amount = _number(value, kind)
        at |= {5: (row.qualifier, amount) if row.qualifier else amount, 6: _unit(row.unit_ucum, row.unit_display)}
        at |= {7: _range(row), 8: _flag(row)}
    return Segment("OBX", at)


def _beside(number: int, name: str, said: str, row: ReleasedRow) -> Segment:
    gone = row.change_kind == "withdrawn" and name in _MEASURES
    text = "" if gone else said
    kind = "NM" if name in NUMBER_FIELDS else "ST"
    at: dict[int, Field] = {
        1: str(number), 2: kind, 3: (name, name.replace("_", " "), LOCAL), 4: group_of(row),
        5: _number(text, kind) if kind == "NM" else text, 11: _status(row, text),
    }  # fmt: skip
    if text and name in {"expanded_uncertainty", "detection_limit", "quantitation_limit"}:
        own = row.uncertainty_unit if name == "expanded_uncertainty" else row.unit_ucum
        at[6] = _unit(own, row.unit_display if own == row.unit_ucum else "")
    return Segment("OBX", at)


def _note(number: int, name: str, row: ReleasedRow) -> Segment:
    """NTE-2 ``L``, table 0105: from the laboratory that fills the order."""
    return Segment(
        "NTE", {1: str(number), 2: "L", 3: str(getattr(row, name)), 4: (name, name.replace("_", " "), LOCAL)}
    )


def _status(row: ReleasedRow, text: str) -> str:
    """OBX-11 for a content. Of a later revision, what has none any more is W: what was sent before is wrong."""
    if row.change_kind == "new":
        return "F" if text else "X"
    return "C" if text else "W"


def _flag(row: ReleasedRow) -> str:
    """OBX-8: H or L where a failed value itself lies beyond a limit, A for any other failure, N for a pass."""
    if row.verdict != "fail":
        return "N" if row.verdict == "pass" else ""
    value = Decimal(row.value_number)
    if row.spec_high and not row.qualifier and value > Decimal(row.spec_high):
        return "H"
    if row.spec_low and not row.qualifier and value < Decimal(row.spec_low):
        return "L"
    return "A"


def _range(row: ReleasedRow) -> str:
    """OBX-7 as the standard writes limits: ``0.1-0.5``, ``<0.5``, ``>0.1``."""
    if row.spec_low and row.spec_high:
        return f"{row.spec_low}-{row.spec_high}"
    return (row.spec_low and f">{row.spec_low}") or (row.spec_high and f"<{row.spec_high}")


def _unit(ucum: str, shown: str) -> Components:
    return (held(ucum, LONGEST_CODE), shown, "UCUM")


def _number(text: str, kind: str) -> str:
    if len(text) > _LONGEST_NUMBER[kind]:
        raise too_long(text, _LONGEST_NUMBER[kind])
    return text


def _people(row: ReleasedRow) -> list[Components]:
    """OBX-16: who signed the run as performed; names only where each has its own.

    An identifier longer than XCN.1 holds stands as the name, or gives way to it: it is not cut.
    """
    people, names = row.analyst_id.split(), row.analyst_name.split("; ")
    if len(people) != len(names):
        names = [""] * len(people)
    return [
        (person, name) if len(escaped(person)) <= _LONGEST_PERSON else ("", name or person)
        for person, name in zip(people, names, strict=True)
    ]


def _methods(row: ReleasedRow) -> list[Components]:
    """OBX-17 as text, since the laboratory's own identifiers may be longer than a code."""
    version = f", version {row.method_version}" if row.method_version else ""
    return [("", method + version) for method in row.method_id.split()]
