"""Text given on the command line is in the form records keep, whichever keyboard it came from; names on the disk stay.

Unicode Standard Annex 15: form NFC.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

import pytest

from benchseal.cli.parser import parse
from benchseal.cli.table import COMMANDS
from benchseal.cli.words import NAMES_ON_DISK

if TYPE_CHECKING:
    from benchseal.cli.words import Command

PARTS = ("cafe\u0301", "q\u0308\u0323", "\u212b \u1e9b\u0323")  # apart, out of order, one sign that stands for another


def given(command: Command, text: str) -> list[str]:
    """The words of a command with ``text`` in every argument that takes any text, those without a name first."""
    first, named = [*command.words], []
    for names, settings in command.arguments:
        if settings.get("action", "append") != "append":
            continue
        name = names.split()[-1]
        value = str(next(iter(settings["choices"]))) if "choices" in settings else "1" if "type" in settings else text
        if name.startswith("-"):
            named += [name, value]
        else:
            first.append(value)
    return first + named


def texts(value: str | list[str]) -> list[str]:
    return [value] if isinstance(value, str) else value


@pytest.mark.parametrize("text", PARTS, ids=ascii)
@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command.words))
def test_every_text_is_put_in_form_and_every_name_on_the_disk_stays(command: Command, text: str) -> None:
    read = vars(parse(given(command, text)))
    whole = unicodedata.normalize("NFC", text)
    for names, settings in command.arguments:
        name = settings.get("dest", names.split()[-1].lstrip("-").replace("-", "_"))
        value = read[name]
        if settings.get("action", "append") == "append" and not {"type", "choices"} & settings.keys():
            assert texts(value) == [text if settings["metavar"] in NAMES_ON_DISK else whole], name


def test_every_word_for_a_name_on_the_disk_is_used() -> None:
    used = {settings.get("metavar") for command in COMMANDS for _, settings in command.arguments}
    assert used >= NAMES_ON_DISK


_OF_A_FILE = [
    (command, names.split()[-1])
    for command in COMMANDS
    for names, settings in command.arguments
    if names.startswith("-")
    and settings.get("metavar") in NAMES_ON_DISK
    and not settings.keys() & {"required", "nargs"}
]


@pytest.mark.parametrize("name", ["", " ", "-"], ids=["empty", "blank", "hyphen"])
@pytest.mark.parametrize(("words", "option"), [("export run x", "--log"), ("status", "--prometheus"), ("x", "")])
def test_an_option_that_names_a_file_names_one(
    words: str, option: str, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A variable that is not set would else leave the log, or the counts, away without a word."""
    asked = [[*words.split(), option, name]]
    if not option:  # every other one of the table, where leaving it out is what an empty name would do
        asked = [[*given(command, "x"), one, name] for command, one in _OF_A_FILE if one != "--to"]  # delivery.to-empty
        assert len(asked) > 15
    for line in asked:
        with pytest.raises(SystemExit) as ended:
            parse(line)
        assert ended.value.code == 2
        assert ("names nothing" if name.strip() == "" else "- is no name") in capsys.readouterr().err, line


def test_an_option_that_names_a_file_may_be_left_out_or_name_any() -> None:
    assert parse(["status"]).prometheus == ""
    assert parse(["status", "--prometheus", "./-"]).prometheus == "./-"
    assert parse(["export", "run", "x", "--log", "a b"]).log == "a b"
