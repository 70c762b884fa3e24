"""New samples beside those on record: a file that came in before, an order sent again, an identifier used twice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias

from benchseal.desk.reading import all_entries
from benchseal.problems import Problem, Stopped
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.registers import SampleRow
    from benchseal.store.protocol import Reading

    ByName: TypeAlias = dict[tuple[str, ...], list[tuple[SampleRow, str]]]

MOST_NAMED: Final = 20  # remarks of one file: a customer that counts its samples anew with every order would fill pages
_TOLD: Final = ("specification", "description", "condition", "quantity_received", "received_on", "order")


def require_new_file(view: Reading, data: bytes, source: str) -> None:
    """Raises Stopped for a file whose bytes samples on record came from, whatever was corrected in them since.

    Rows alone do not tell: one that was corrected, or read by a later version of the profile, is another row.
    """
    raw = digest(data)
    try:
        view.bytes_of(raw)
    except KeyError:  # no such bytes on record at all: the ledger need not be read
        return
    came = [one for one in all_entries(view) if one.kind == "sample.added" and one.digests.get("file") == raw]
    if came:
        names = [one.subject.removeprefix("sample/") for one in came]
        many = names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"
        what = f"the same bytes came in on {came[0].at[:10]} by {came[0].actor}: {many}."
        remedy = "Nothing needs to be done; what is on record is put right by `benchseal sample correct`."
        raise Stopped(Problem("sample.file-already", source, what, remedy))


def by_name(there: Mapping[SampleRow, str]) -> ByName:
    """Rows on record with their samples, by what a row names: customer, lot, product, identifier of the customer."""
    found: ByName = {}
    for row, number in there.items():
        found.setdefault(_name(row), []).append((row, number))
    return found


def alike(row: SampleRow, there: ByName) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Samples on record that may be the same one: number, and columns in which they differ from a new row.

    They have the same name, and were received on the same day or in the same order.
    """
    for other, number in there.get(_name(row), ()):
        same = row.received_on == other.received_on or (row.order and row.order == other.order)
        if same and row != other:
            yield number, tuple(name for name in _TOLD if getattr(row, name) != getattr(other, name))


def alike_problems(row: SampleRow, where: str, there: ByName) -> list[Problem]:
    """Each of them, as why a row waits until somebody says that it is another sample."""
    return [
        Problem(
            "sample.alike",
            where,
            f"{number} on record has the same customer, lot, product and customer_sample_id, and the same day or "
            f"order; other: {', '.join(name.replace('_', ' ') for name in names) or 'what is stated of the lot'}.",
            f"Where the order was sent again, put {number} right with `benchseal sample correct`; where it is another "
            "sample, say why with --separate-because.",
        )
        for number, names in alike(row, there)
    ]


def _name(row: SampleRow) -> tuple[str, ...]:
    return row.customer, row.lot, row.product, row.customer_sample_id


def identifier_lines(
    rows: Sequence[SampleRow], numbers: Sequence[str], there: Mapping[SampleRow, str]
) -> tuple[str, ...]:
    """Remarks on identifiers of a customer that stand for several of its lots, on record or in one file."""
    lots: dict[tuple[str, str], dict[tuple[str, str], str]] = {}
    known = [*there.items(), *zip(rows, numbers, strict=True)]
    for row, number in known:
        if row.customer_sample_id:
            own = lots.setdefault((row.customer, row.customer_sample_id), {})
            own.setdefault((row.product, row.lot), number)
    said = []
    for row, number in zip(rows, numbers, strict=True):
        own = lots.get((row.customer, row.customer_sample_id), {})
        others = [
            f"{name} (lot {lot})" for (product, lot), name in own.items() if (product, lot) != (row.product, row.lot)
        ]
        if others:
            named = f"{', '.join(others[:3])}{f' and {len(others) - 3} more' if len(others) > 3 else ''}"
            said.append(f"  {number}: the customer's own identifier {row.customer_sample_id} is that of {named} too")
    more = len(said) - MOST_NAMED
    return tuple(said) if more <= 0 else (*said[:MOST_NAMED], f"  and of {more} more samples")
