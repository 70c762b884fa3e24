"""Every act: what can be done to a record, by whom, with which signature. ``perform`` is the only caller.

Command help and the role-by-act test matrix are generated from ``ACTS``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acts_certificates import CERTIFICATES
from benchseal.desk.acts_confirmations import CONFIRMATIONS
from benchseal.desk.acts_corrections import CORRECTIONS
from benchseal.desk.acts_deliveries import DELIVERIES
from benchseal.desk.acts_documents import DOCUMENTS
from benchseal.desk.acts_exceptions import EXCEPTIONS
from benchseal.desk.acts_instruments import INSTRUMENTS
from benchseal.desk.acts_interface import INTERFACE
from benchseal.desk.acts_investigations import INVESTIGATIONS
from benchseal.desk.acts_keys import KEYS
from benchseal.desk.acts_opinions import OPINIONS
from benchseal.desk.acts_people import PEOPLE
from benchseal.desk.acts_periodic import PERIODIC
from benchseal.desk.acts_plans import PLANS
from benchseal.desk.acts_policies import POLICIES
from benchseal.desk.acts_qualification import QUALIFICATION
from benchseal.desk.acts_registers import REGISTERS
from benchseal.desk.acts_runs import RUNS
from benchseal.desk.acts_security import SECURITY
from benchseal.desk.acts_trail import TRAIL
from benchseal.desk.acts_training import TRAINING
from benchseal.desk.acts_upkeep import UPKEEP
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.desk.act_row import ActRow

ROWS: tuple[ActRow, ...] = (
    *PEOPLE,
    *KEYS,
    *DOCUMENTS,
    *POLICIES,
    *EXCEPTIONS,
    *REGISTERS,
    *PLANS,
    *CONFIRMATIONS,
    *INSTRUMENTS,
    *TRAINING,
    *RUNS,
    *INVESTIGATIONS,
    *CORRECTIONS,
    *OPINIONS,
    *CERTIFICATES,
    *DELIVERIES,
    *INTERFACE,
    *UPKEEP,
    *SECURITY,
    *TRAIL,
    *PERIODIC,
    *QUALIFICATION,
)

ACTS: dict[type, ActRow] = {row.act: row for row in ROWS}

# A second person's word beside an act: kind of the entry, and what the signature in it means.
SIGNED_BESIDE: dict[str, Meaning] = {"administration.signed_off": Meaning.APPROVED}

# Entries no act names: founding, the steps that finish what a person signed, and a second person's word beside an act.
PROGRAM_KINDS = (
    "site.founded",
    "site.restored",
    "person.locked",
    "clock.back",
    "document.begun",
    *SIGNED_BESIDE,
    "program.changed",
    "reads.noted",
    "certificate.refused",
    "certificate.released",
    "certificate.unstamped",
    "certificate.notice_unstamped",
    "certificate.superseded",
    "certificate.noticed",
    "delivery.done",
)
