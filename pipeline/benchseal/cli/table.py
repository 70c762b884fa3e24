"""The command table: words, what it says, arguments, and the function that does it. A static table on purpose.

What acts say here is generated from ``desk/acts.py``; a test holds the two equal, so that help needs no import.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli.table_registers import REGISTER_COMMANDS
from benchseal.cli.table_results import RESULT_COMMANDS
from benchseal.cli.words import NOUNS

if TYPE_CHECKING:
    from benchseal.cli.words import Command

__all__ = ["COMMANDS", "NOUNS"]

COMMANDS: tuple[Command, ...] = (*REGISTER_COMMANDS, *RESULT_COMMANDS)
