"""The static command table against the acts: what is generated and what is committed are the same."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

import pytest

from benchseal.cli.parser import build
from benchseal.cli.table import COMMANDS, NOUNS
from benchseal.desk.acts import ROWS
from benchseal.store.project import known_kinds

if TYPE_CHECKING:
    from benchseal.cli.words import Command
    from benchseal.desk.act_row import ActRow

BY_WORDS = {" ".join(command.words): command for command in COMMANDS}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.command)
def test_each_act_has_its_command_with_the_same_words(row: ActRow) -> None:
    command = BY_WORDS[row.command]
    assert command.says == row.says
    signs = [signer.meaning is not None or signer.password for signer in row.signers]
    assert command.needs == ("signatures" if len(signs) > 1 else "signature" if signs[0] else "session")


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command.words))
def test_each_command_has_a_function_an_example_and_help(command: Command) -> None:
    module, _, name = command.function.partition(":")
    assert callable(getattr(import_module(f"benchseal.cli.{module}"), name))
    assert command.example.startswith("benchseal " + " ".join(command.words))
    assert all(settings.get("help") for _, settings in command.arguments)


def test_every_noun_has_commands_and_the_parser_takes_every_example() -> None:
    assert {command.words[0] for command in COMMANDS} == set(NOUNS)
    assert len(BY_WORDS) == len(COMMANDS)
    build()


def test_every_kind_an_act_writes_can_be_replayed() -> None:
    from benchseal.desk.acts import PROGRAM_KINDS  # noqa: PLC0415

    assert {kind for row in ROWS for kind in row.kinds} | set(PROGRAM_KINDS) == known_kinds()
