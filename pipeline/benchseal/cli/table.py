"""The command table: words, what it says, arguments, and the function that does it. A static table on purpose.

What acts say here is generated from ``desk/acts.py``; a test holds the two equal, so that help needs no import.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli.table_corrections import CORRECTION_COMMANDS
from benchseal.cli.table_history import HISTORY_COMMANDS
from benchseal.cli.table_ledger import LEDGER_COMMANDS
from benchseal.cli.table_people import PEOPLE_COMMANDS
from benchseal.cli.table_registers import REGISTER_COMMANDS
from benchseal.cli.table_results import RESULT_COMMANDS
from benchseal.cli.table_security import SECURITY_COMMANDS
from benchseal.cli.table_upkeep import UPKEEP_COMMANDS
from benchseal.cli.words import NOUNS

if TYPE_CHECKING:
    from benchseal.cli.words import Command

__all__ = ["COMMANDS", "NOUNS"]

COMMANDS: tuple[Command, ...] = (
    *REGISTER_COMMANDS,
    *RESULT_COMMANDS,
    *CORRECTION_COMMANDS,
    *LEDGER_COMMANDS,
    *PEOPLE_COMMANDS,
    *HISTORY_COMMANDS,
    *SECURITY_COMMANDS,
    *UPKEEP_COMMANDS,
)
