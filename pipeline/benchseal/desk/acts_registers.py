"""Acts on registers and preparation sheets: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, ActRow, anyone


@dataclass(frozen=True, slots=True)
class AddRegister:
    """Bring in register rows. register: ``customer``, ``instrument``, ``standard`` or ``sample``.

    late_because: why samples come on record long after they were received. profile: of samples, the import profile that
    says how another system's file is read; empty for a sheet. separate_because: why samples much like others on record
    are no repeats; kept with them.
    """

    register: str
    data: bytes
    source: str
    late_because: str = ""
    profile: str = ""
    separate_because: str = ""


@dataclass(frozen=True, slots=True)
class AddPreparation:
    """Bring in a preparation sheet. balance: the balance's own file of its masses, where there is one.

    balance_layout: the layout that says how it is read; empty for a CSV with columns.
    """

    data: bytes
    source: str
    late_because: str = ""
    balance: bytes = b""
    balance_source: str = ""
    balance_layout: str = ""


REGISTERS: tuple[ActRow, ...] = (
    ActRow(
        AddRegister,
        "sample add",
        anyone(ANALYST, APPROVER),
        ("customer.added", "instrument.added", "standard_lot.added", "sample.added", "late.noted"),
        "registers:add_register",
        "bring in rows of the sample register (also: recipient, instrument, standard)",
    ),
    ActRow(
        AddPreparation,
        "preparation add",
        anyone(ANALYST),
        ("preparation.added", "late.noted"),
        "registers:add_preparation",
        "bring in weighings and dilutions",
    ),
)
