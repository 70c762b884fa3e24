"""Rules of sheets beyond the shape of one row: within a row, and across the rows of a sheet."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

from benchseal.documents.row_fault import RowFault
from benchseal.documents.rules_additions import addition_faults
from benchseal.documents.rules_amounts import (
    dilution_faults,
    packed_faults,
    sister_faults,
    standard_faults,
    zeros_faults,
)
from benchseal.documents.rules_kinds import (
    OF_A_SAMPLE,
    SPIKED,
    kind_faults,
    portion_uncertainty_faults,
    uncertainty_faults,
    zero_faults,
)
from benchseal.records.elements import SYMBOLS
from benchseal.records.quantities import decimal_of, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterator, Sequence

    from benchseal.records.preparation import Portion
    from benchseal.records.registers import Customer, Instrument, SampleRow, StandardLot

R = TypeVar("R")
_ALL = 100  # percent
# What a laboratory may weigh, fill and wrap; beyond it a figure slipped (common practice, no source).
_LIKELY = {
    "mass_g": (Decimal("1e-9"), Decimal("1e6")),
    "unit_mass_g": (Decimal("1e-9"), Decimal("1e6")),
    "volume_ml": (Decimal("1e-6"), Decimal("1e7")),
    "area_dm2": (Decimal("1e-6"), Decimal("1e6")),
}
_NUMBERS = (
    "volume_ml", "mass_g", "area_dm2", "unit_mass_g", "u_unit_mass_g", "acid_percent", "moisture_percent",
    "u_moisture_percent",
)  # fmt: skip
# No sample, lot or preparation at hand is older; an instrument may be (common practice, no source).
_FIRST_DAY, _FIRST_INSTRUMENT = date(1990, 1, 1), date(1950, 1, 1)
# Whatever lies between two bounds has a standard deviation of at most half their distance (Popoviciu's inequality).
_LARGEST_U_OF_A_SHARE = 50


def sample_faults(rows: tuple[SampleRow, ...]) -> Iterator[RowFault]:
    """Cells left empty, dates that are none, samples taken after receipt, the same lot twice.

    What came, in which condition and how much are asked of whoever receives it (ISO/IEC 17025:2017, 7.4.3 and 7.8.2.1
    g, from memory): an empty cell would say that nobody looked.
    """
    yield from _twice(rows, "lot", lambda row: (row.customer, row.product, row.lot), "lot of this customer and product")
    for nth, row in enumerate(rows):
        for column in ("description", "condition", "quantity_received"):
            if not getattr(row, column).strip():
                remedy = "Enter what was received; where it was not looked at, write that."
                yield RowFault(nth, column, "cell-empty", f"The cell of {column} is empty.", remedy)
        received, sampled = _date(row.received_on), _date(row.sampled_on)
        yield from _dates(nth, received_on=row.received_on, sampled_on=row.sampled_on)
        yield from _dates(nth, expires_on=row.expires_on, retest_on=row.retest_on)
        if received and sampled and sampled > received:
            what = f"Sampled on {row.sampled_on}, after it was received on {row.received_on}."
            yield RowFault(nth, "sampled_on", "date-order", what, "Correct one of the dates.")


def standard_lot_faults(rows: tuple[StandardLot, ...]) -> Iterator[RowFault]:
    """Dates, amounts, the same lot twice."""
    yield from _twice(rows, "lot", lambda row: row.lot, "lot")  # results name a standard by its lot alone
    for nth, row in enumerate(rows):
        first, last = _date(row.in_use_from), _date(row.expires_on)
        yield from _dates(nth, in_use_from=row.in_use_from, expires_on=row.expires_on)
        if first and last and last < first:
            what = f"It expires on {row.expires_on}, before it comes into use on {row.in_use_from}."
            yield RowFault(nth, "expires_on", "date-order", what, "Correct one of the dates.")
        yield from _above_zero(nth, value=row.value, prepared_as=row.prepared_as or row.value)
        yield from standard_faults(nth, row)
        yield from uncertainty_faults(nth, "u_percent", "", row.u_percent, str(_ALL))
        yield from zero_faults(nth, "u_percent", "", row.u_percent)
        numbers = (("value", row.value), ("prepared_as", row.prepared_as), ("u_percent", row.u_percent))
        yield from zeros_faults(nth, numbers)
        yield from _elements_known(nth, "element", (row.element,))


def instrument_faults(rows: tuple[Instrument, ...]) -> Iterator[RowFault]:
    """Zones that do not exist, dates, the same identifier or serial number twice."""
    yield from _twice(rows, "instrument", lambda row: row.instrument, "instrument")
    yield from _twice(rows, "serial", lambda row: row.serial, "serial number")
    for nth, row in enumerate(rows):
        yield from _dates(nth, _FIRST_INSTRUMENT, in_service_from=row.in_service_from)
        if not is_zone(row.zone):
            what = f"'{row.zone}' is no time zone."
            yield RowFault(nth, "zone", "zone-unknown", what, "Use a name such as Europe/Berlin or UTC.")


def customer_faults(rows: tuple[Customer, ...]) -> Iterator[RowFault]:
    """The same identifier twice; no address, which every certificate states. An empty name is the schema's affair."""
    yield from _twice(rows, "customer", lambda row: row.customer, "customer")
    for nth, row in enumerate(rows):
        if not row.address.strip():
            what = "The cell of address is empty; every certificate states it (ISO/IEC 17025, 7.8.2.1 e)."
            yield RowFault(nth, "address", "cell-empty", what, "Enter what certificates shall print.")


def portion_faults(rows: tuple[Portion, ...]) -> Iterator[RowFault]:
    """Everything a preparation sheet must make clear before it can be computed with."""
    yield from _twice(rows, "portion", lambda row: (row.batch, row.portion), "portion of this batch")
    yield from addition_faults(rows)
    yield from sister_faults(rows)
    known = {(row.batch, row.portion): row for row in rows}
    for nth, row in enumerate(rows):
        yield from _portion_kind(nth, row)
        yield from kind_faults(nth, row)
        yield from portion_uncertainty_faults(nth, row)
        yield from _portion_amounts(nth, row)
        yield from packed_faults(nth, row)
        yield from zeros_faults(nth, _numbers_of(row))
        yield from _portion_elements(nth, row)
        yield from _portion_spike(nth, row, known)
        yield from _portion_moisture(nth, row)
        if not _is_time(row.prepared_at):
            what = f"'{row.prepared_at}' is not in the calendar."
            yield RowFault(nth, "prepared_at", "date-impossible", what, "Correct it.")
        else:
            yield from _dates(nth, prepared_at=row.prepared_at)


def _portion_kind(nth: int, row: Portion) -> Iterator[RowFault]:
    if row.kind in OF_A_SAMPLE and not row.sample:
        yield RowFault(nth, "sample", "portion-sample", f"A {row.kind} needs the number of its sample.", "Enter it.")
    if row.kind not in OF_A_SAMPLE and row.sample:
        what = f"A {row.kind} is the laboratory's own and has no sample; found '{row.sample}'."
        yield RowFault(nth, "sample", "portion-sample", what, "Empty the cell, or correct the kind.")
    needed = {"reference_material": row.expected_ug_per_g, "control_sample": row.expected_ug_per_g | row.added_ug}
    lacking = [element for element in row.elements if element not in needed.get(row.kind, row.elements)]
    if lacking and not row.not_determined:
        column = "expected_ug_per_g"
        what = f"A {row.kind} needs an expected or added amount for {', '.join(lacking)}."
        yield RowFault(nth, column, "portion-expected", what, "Enter it, as: Pb 2.5; Cd 1.2.")
    alone = [element for element in row.u_expected_ug_per_g if element not in row.expected_ug_per_g]
    if alone:
        what = f"An uncertainty is given for {', '.join(alone)}, but no expected content."
        yield RowFault(nth, "u_expected_ug_per_g", "portion-expected", what, "Enter both, or none.")


def _portion_amounts(nth: int, row: Portion) -> Iterator[RowFault]:
    if row.mass_g and row.area_dm2:
        yield RowFault(nth, "area_dm2", "portion-mass-and-area", "Both a mass and a surface are given.", "Keep one.")
    named = {"volume_ml": row.volume_ml, "mass_g": row.mass_g, "area_dm2": row.area_dm2, "unit_mass_g": row.unit_mass_g}
    yield from _above_zero(nth, **{name: text for name, text in named.items() if text})
    if bool(row.unit_mass_g) != bool(row.u_unit_mass_g):
        what = "unit_mass_g and u_unit_mass_g belong together."
        yield RowFault(nth, "unit_mass_g", "portion-unit-mass", what, "Enter both, or none.")
    if row.unit_mass_g and not row.mass_g and not row.not_determined:
        what = "A unit mass is given, but no mass of the portion."
        yield RowFault(nth, "mass_g", "portion-unit-mass", what, "Enter the mass.")
    if row.acid_percent and decimal_of(row.acid_percent) > _ALL:
        what = f"acid_percent is {row.acid_percent}; a volume fraction does not exceed {_ALL}."
        yield RowFault(nth, "acid_percent", "portion-acid", what, "Enter percent acid of the solution measured.")


def _numbers_of(row: Portion) -> Iterator[tuple[str, str]]:
    """Column and text of every number of a row."""
    for column in _NUMBERS:
        yield column, getattr(row, column)
    for column in ("added_ug", "expected_ug_per_g", "u_expected_ug_per_g"):
        yield from ((column, text) for text in getattr(row, column).values())
    for steps in row.dilutions.values():
        yield from (("dilutions", text) for step in steps for text in (step.aliquot_ml, step.final_ml))
    for tubes in row.additions.values():
        yield from (("additions", tube.added) for tube in tubes)


def _portion_moisture(nth: int, row: Portion) -> Iterator[RowFault]:
    if bool(row.moisture_percent) != bool(row.u_moisture_percent):
        what = "moisture_percent and u_moisture_percent belong together."
        yield RowFault(nth, "moisture_percent", "portion-moisture", what, "Enter both, or none.")
    if row.moisture_percent and decimal_of(row.moisture_percent) >= _ALL:
        what = f"moisture_percent is {row.moisture_percent}; nothing would be left."
        yield RowFault(nth, "moisture_percent", "portion-moisture", what, "Enter percent of the mass, below 100.")
    if row.u_moisture_percent and decimal_of(row.u_moisture_percent) > _LARGEST_U_OF_A_SHARE:
        what = (
            f"u_moisture_percent is {row.u_moisture_percent}; the standard uncertainty of a share between 0 and 100 "
            f"percent does not exceed {_LARGEST_U_OF_A_SHARE}."
        )
        yield RowFault(nth, "u_moisture_percent", "portion-moisture", what, "Enter it in percent of the mass.")
    if row.moisture_percent and not row.mass_g and not row.not_determined:
        what = "A moisture is given, but no mass of the portion."
        yield RowFault(nth, "mass_g", "portion-moisture", what, "Enter the mass.")


def _portion_elements(nth: int, row: Portion) -> Iterator[RowFault]:
    yield from _elements_known(nth, "elements", row.elements)
    if len(set(row.elements)) != len(row.elements):
        yield RowFault(nth, "elements", "portion-element-twice", "An element stands twice.", "List each once.")
    for column in ("dilutions", "added_ug", "expected_ug_per_g", "u_expected_ug_per_g", "additions"):
        foreign = [element for element in getattr(row, column) if element not in row.elements]
        if foreign:
            what = f"{', '.join(foreign)} is not among the elements {' '.join(row.elements)}."
            yield RowFault(nth, column, "portion-element-foreign", what, "Correct the elements or this cell.")
    for column in ("added_ug", "expected_ug_per_g"):
        for element, amount in getattr(row, column).items():
            if decimal_of(amount) == 0:
                what = f"{column} of {element} is {amount}; nothing can be recovered of nothing."
                yield RowFault(nth, column, "amount-zero", what, "Correct it, or leave the element out.")
    yield from dilution_faults(nth, row.dilutions)


def _portion_spike(nth: int, row: Portion, known: dict[tuple[str, str], Portion]) -> Iterator[RowFault]:
    if row.kind not in SPIKED:
        if row.spike_of:
            yield RowFault(nth, "spike_of", "portion-spike", f"A {row.kind} is no spike.", "Empty the cell.")
        return
    base = known.get((row.batch, row.spike_of))
    if base is None or base.kind not in {"sample", "duplicate"}:
        what = f"spike_of '{row.spike_of}' is no sample portion of batch {row.batch} in this sheet."
        yield RowFault(nth, "spike_of", "portion-spike", what, "Name the portion without the addition.")
    elif base.sample != row.sample:
        what = f"The spike is of sample {row.sample}, its portion {row.spike_of} of sample {base.sample}."
        yield RowFault(nth, "sample", "portion-spike", what, "Correct one of them.")
    lacking = [element for element in row.elements if element not in row.added_ug]
    if lacking and not row.not_determined:
        what = f"Nothing says how much {', '.join(lacking)} was added."
        yield RowFault(nth, "added_ug", "portion-spike", what, "Enter it, as: Pb 2.5; Cd 1.2.")


# Shared


def _twice(rows: Sequence[R], column: str, key: Callable[[R], Hashable], of: str) -> Iterator[RowFault]:
    first: dict[Hashable, int] = {}
    for nth, row in enumerate(rows):
        if key(row) in first:
            what, remedy = f"The same {of} stands twice.", "Remove one of them, or tell them apart."
            yield RowFault(nth, column, "row-twice", what, remedy, first[key(row)])
        first.setdefault(key(row), nth)


def _dates(nth: int, first: date = _FIRST_DAY, /, **dates: str) -> Iterator[RowFault]:
    for column, text in dates.items():
        day = _date(text[:10])
        if text and day is None:
            yield RowFault(nth, column, "date-impossible", f"'{text}' is not in the calendar.", "Correct it.")
        elif day and day < first:
            what = f"'{text}' lies before {first.isoformat()}; nothing here is as old."
            yield RowFault(nth, column, "date-early", what, "Correct the year.")


def _elements_known(nth: int, column: str, symbols: Sequence[str]) -> Iterator[RowFault]:
    for symbol in dict.fromkeys(symbols):
        if symbol not in SYMBOLS:
            yield RowFault(nth, column, "element-unknown", f"'{symbol}' is no symbol of an element.", "Correct it.")


def _above_zero(nth: int, **numbers: str) -> Iterator[RowFault]:
    for column, text in numbers.items():
        value, (least, most) = decimal_of(text), _LIKELY.get(column, (Decimal(0), None))
        if value <= 0:
            yield RowFault(nth, column, "amount-zero", f"{column} is {text}; it must be above zero.", "Correct it.")
        elif value < least or (most is not None and value > most):
            what = f"{column} is {text[:50]}; between {plain(least)} and {plain(most or least)} is taken."
            yield RowFault(nth, column, "amount-unlikely", what, "Look at the unit and at the point; correct it.")


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _is_time(text: str) -> bool:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def is_zone(name: str) -> bool:
    """Whether a time zone of this name exists."""
    try:
        ZoneInfo(name)
    except (OSError, ValueError, KeyError):  # a folder, a bad name, an unknown name
        return False
    return True
