"""The command table: words, what it says, arguments, and the function that does it. A static table on purpose.

What acts say here is generated from ``desk/acts.py``; a test holds the two equal, so that help needs no import.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli.table_certificates import CERTIFICATE_COMMANDS
from benchseal.cli.table_corrections import CORRECTION_COMMANDS
from benchseal.cli.table_documents import DOCUMENT_COMMANDS
from benchseal.cli.table_exports import EXPORT_COMMANDS
from benchseal.cli.table_history import HISTORY_COMMANDS
from benchseal.cli.table_ingest import INGEST_COMMANDS
from benchseal.cli.table_instruments import INSTRUMENT_COMMANDS
from benchseal.cli.table_interface import INTERFACE_COMMANDS
from benchseal.cli.table_investigations import INVESTIGATION_COMMANDS
from benchseal.cli.table_keys import KEY_COMMANDS
from benchseal.cli.table_layouts import LAYOUT_COMMANDS
from benchseal.cli.table_ledger import LEDGER_COMMANDS
from benchseal.cli.table_people import PEOPLE_COMMANDS
from benchseal.cli.table_plans import PLAN_COMMANDS
from benchseal.cli.table_qualify import QUALIFY_COMMANDS
from benchseal.cli.table_registers import REGISTER_COMMANDS
from benchseal.cli.table_results import RESULT_COMMANDS
from benchseal.cli.table_reviews import REVIEW_COMMANDS
from benchseal.cli.table_security import SECURITY_COMMANDS
from benchseal.cli.table_serve import SERVE_COMMANDS
from benchseal.cli.table_upkeep import UPKEEP_COMMANDS
from benchseal.cli.words import NOUNS

if TYPE_CHECKING:
    from benchseal.cli.words import Command

__all__ = ["COMMANDS", "NOUNS"]

COMMANDS: tuple[Command, ...] = (
    *REGISTER_COMMANDS,
    *DOCUMENT_COMMANDS,
    *LAYOUT_COMMANDS,
    *INSTRUMENT_COMMANDS,
    *INGEST_COMMANDS,
    *PLAN_COMMANDS,
    *RESULT_COMMANDS,
    *EXPORT_COMMANDS,
    *INTERFACE_COMMANDS,
    *INVESTIGATION_COMMANDS,
    *CERTIFICATE_COMMANDS,
    *CORRECTION_COMMANDS,
    *LEDGER_COMMANDS,
    *PEOPLE_COMMANDS,
    *KEY_COMMANDS,
    *HISTORY_COMMANDS,
    *SECURITY_COMMANDS,
    *REVIEW_COMMANDS,
    *QUALIFY_COMMANDS,
    *UPKEEP_COMMANDS,
    *SERVE_COMMANDS,
)
