"""A batch file of HL7 v2.5.1: one ORU^R01 message for each sample of a certificate, without a patient (PID).

Source: HL7 v2.5.1, chapters 2 (2.10.3 batches), 4 and 7, from memory; OBR-25 is table 0123. UTF-8, each segment ends
with a carriage return.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from itertools import count
from typing import TYPE_CHECKING, Final

from benchseal.export.cells import CannotWrite, Fault
from benchseal.export.columns import PreviewCell
from benchseal.export.hl7_result import group_of, segments_of
from benchseal.export.hl7_text import LONGEST_CODE, SEGMENT_END, Segment, held, stamp, written
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from benchseal.export.hl7_text import Field
    from benchseal.records.profile import Hl7, Profile
    from benchseal.records.released import Delivery, ReleasedRow

SUFFIX: Final = "hl7"


@dataclass(frozen=True, slots=True)
class _Piece:
    """One segment, written, or why it cannot be; the canonical field it is of, and its row, counted from 1."""

    name: str
    field: str
    text: str | Fault
    number: int
    row: ReleasedRow


def made(rows: Sequence[ReleasedRow], profile: Profile, delivery: Delivery) -> bytes | tuple[Problem, ...]:
    """The file, or every problem. For a sound profile."""
    words = _words(profile)
    groups = _groups(rows)
    pieces = [piece for group in groups for piece in _message(group, words, delivery)]
    if problems := tuple(_problem(piece, piece.text) for piece in pieces if isinstance(piece.text, Fault)):
        return problems
    header: dict[int, Field] = _parties(words) | {7: stamp(delivery.produced_at), 11: delivery.delivery_id}
    lines = [
        written(Segment("FHS", header)), written(Segment("BHS", header)), *(str(piece.text) for piece in pieces),
        written(Segment("BTS", {1: str(len(groups))})), written(Segment("FTS", {1: "1"})),
    ]  # fmt: skip
    return "".join(line + SEGMENT_END for line in lines).encode()


def preview(rows: Sequence[ReleasedRow], profile: Profile, delivery: Delivery) -> tuple[tuple[PreviewCell, ...], ...]:
    """For each row the segments of a message of that row alone; what cannot be written stands as a problem."""
    words = _words(profile)
    return tuple(
        tuple(map(_cell, _message([(number, row)], words, delivery))) for number, row in enumerate(rows, start=1)
    )


def _words(profile: Profile) -> Hl7:
    if profile.hl7 is None:
        raise RuntimeError(f"profile {profile.id} was not checked: it has no hl7")
    return profile.hl7


def _groups(rows: Sequence[ReleasedRow]) -> list[list[tuple[int, ReleasedRow]]]:
    """Neighbours of one sample and certificate; two revisions of a result never stand in one message."""
    groups: list[list[tuple[int, ReleasedRow]]] = []
    known: set[str] = set()
    of: tuple[str, str] | None = None
    for number, row in enumerate(rows, start=1):
        if of != (row.certificate_no, row.lab_sample_id) or group_of(row) in known:
            groups.append([])
            of, known = (row.certificate_no, row.lab_sample_id), set()
        groups[-1].append((number, row))
        known.add(group_of(row))
    return groups


def _message(rows: Sequence[tuple[int, ReleasedRow]], words: Hl7, delivery: Delivery) -> Iterator[_Piece]:
    """A message is named by the delivery and its first row."""
    first_number, first = rows[0]
    opening: tuple[tuple[str, str, Callable[[], Segment]], ...] = (
        ("MSH", "delivery_id", partial(_msh, first_number, words, delivery)),
        ("ORC", "client_order_id", partial(_orc, first)),
        ("OBR", "lab_sample_id", partial(_obr, [row for _, row in rows], words)),
    )
    for name, field, make in opening:
        yield _Piece(name, field, _tried(make), first_number, first)
    observations = count(1)
    for row_number, row in rows:
        for name, field, make in segments_of(row_number, row, words, observations):
            yield _Piece(name, field, _tried(make), row_number, row)
    yield _Piece("SPM", "product", _tried(partial(_spm, first)), first_number, first)


def _tried(make: Callable[[], Segment]) -> str | Fault:
    try:
        return written(make())
    except CannotWrite as stop:
        return stop.fault


def _parties(words: Hl7) -> dict[int, Field]:
    return {
        3: words.sending_application, 4: words.sending_facility,
        5: words.receiving_application, 6: words.receiving_facility,
    }  # fmt: skip


def _msh(row_no: int, words: Hl7, delivery: Delivery) -> Segment:
    control = held(f"{delivery.delivery_id}-{row_no}", LONGEST_CODE)
    return Segment("MSH", _parties(words) | {
        7: stamp(delivery.produced_at), 9: ("ORU", "R01", "ORU_R01"), 10: control,
        11: words.processing, 12: "2.5.1", 18: "UNICODE UTF-8",
    })  # fmt: skip


def _orc(row: ReleasedRow) -> Segment:
    return Segment("ORC", {1: "RE", 2: row.client_order_id, 3: row.lab_sample_id})


def _obr(rows: Sequence[ReleasedRow], words: Hl7) -> Segment:
    first = rows[0]
    is_new = all(row.change_kind == "new" for row in rows)
    is_released = first.change_kind != "withdrawn"  # a withdrawn row holds when it was released, not when withdrawn
    return Segment("OBR", {
        1: "1", 2: first.client_order_id, 3: first.lab_sample_id,
        4: (words.panel.code, words.panel.name, words.panel.system), 7: stamp(first.sampled_at),
        22: stamp(first.released_at) if is_released else "", 25: "F" if is_new else "C",
    })  # fmt: skip


def _spm(row: ReleasedRow) -> Segment:
    """SPM-4 must be there; the laboratory registers a product and no coded type, so it stands as text."""
    if not row.product:
        raise CannotWrite("export.missing", "needs product, which is empty.", "Complete the record.")
    return Segment("SPM", {
        1: "1", 2: (row.client_sample_id, row.lab_sample_id), 4: ("", row.product),
        17: stamp(row.sampled_at), 18: stamp(row.received_at),
    })  # fmt: skip


def _problem(piece: _Piece, fault: Fault) -> Problem:
    of = piece.row.element_symbol or piece.row.sum_elements
    at = f"row {piece.number} ({piece.row.lab_sample_id} {of}, result {piece.row.result_id})"
    return Problem(fault.code, f"{at}, {piece.name} of {piece.field}", f"the segment {fault.what}", fault.remedy)


def _cell(piece: _Piece) -> PreviewCell:
    if isinstance(piece.text, Fault):
        return PreviewCell(piece.name, piece.field, "text", "", _problem(piece, piece.text))
    return PreviewCell(piece.name, piece.field, "text", piece.text)
