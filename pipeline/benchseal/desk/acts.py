"""Every act: what can be done to a record, by whom, with which signature. ``perform`` is the only caller.

Command help and the role-by-act test matrix are generated from ``ACTS``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acts_certificates import CERTIFICATES
from benchseal.desk.acts_corrections import CORRECTIONS
from benchseal.desk.acts_deliveries import DELIVERIES
from benchseal.desk.acts_documents import DOCUMENTS
from benchseal.desk.acts_people import PEOPLE
from benchseal.desk.acts_registers import REGISTERS
from benchseal.desk.acts_runs import RUNS
from benchseal.desk.acts_security import SECURITY
from benchseal.desk.acts_trail import TRAIL
from benchseal.desk.acts_upkeep import UPKEEP

if TYPE_CHECKING:
    from benchseal.desk.act_row import ActRow

ROWS: tuple[ActRow, ...] = (
    *PEOPLE,
    *DOCUMENTS,
    *REGISTERS,
    *RUNS,
    *CORRECTIONS,
    *CERTIFICATES,
    *DELIVERIES,
    *UPKEEP,
    *SECURITY,
    *TRAIL,
)

ACTS: dict[type, ActRow] = {row.act: row for row in ROWS}

# Entries no person writes: founding, and the steps that finish what a person signed.
PROGRAM_KINDS = (
    "site.founded",
    "site.restored",
    "person.locked",
    "clock.back",
    "certificate.released",
    "delivery.done",
)
