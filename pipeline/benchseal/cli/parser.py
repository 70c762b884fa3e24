"""argparse from the command table. Standard library only."""

from __future__ import annotations

import argparse
import os
import sys
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NoReturn

from benchseal import __version__
from benchseal.cli.table import COMMANDS, NOUNS
from benchseal.cli.words import NAMES_ON_DISK
from benchseal.problems import EXIT_USAGE

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

    from benchseal.cli.words import Command

_ABOUT = "From bench readings of atomic absorption to reviewed, signed, sealed certificates and export files."


class _Parser(argparse.ArgumentParser):
    """Wrong usage is one line and exit 2."""

    def error(self, message: str) -> NoReturn:
        self.exit(EXIT_USAGE, f"{self.prog}: {message}. See {self.prog} --help\n")

    def _print_message(self, message: str, file: SupportsWrite[str] | None = None) -> None:
        """As the library has it, but a reader who went is not passed over (``benchseal.cli.main`` ends then)."""
        stream = file or sys.stderr
        if message and stream is not None:
            stream.write(message)


class _NamedOnDisk(argparse.Action):
    """A file or folder that is named or left out: an empty name, of a variable that is not set, is neither.

    Nor is ``-``, which elsewhere stands for standard output: a file of that name would be met by a slip.
    """

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: object, option_string: object = ""
    ) -> None:
        """Keep the name; else say what is wrong with it, and end."""
        name = str(values)
        if not name.strip():
            parser.error(f"argument {option_string}: it names nothing; name it, or leave the option out")
        if name == "-":
            parser.error(f"argument {option_string}: - is no name here; write ./- where a file is called so")
        setattr(namespace, self.dest, name)


def parse(argv: list[str]) -> argparse.Namespace:
    """The arguments of one command. Exits with 2 on wrong usage, with 0 after help."""
    parser = build(argv)
    for given in argv:
        if any("\ud800" <= letter <= "\udfff" for letter in given):
            parser.error(f"{given!a} is not UTF-8 text; rename the file, or type it again")
    return parser.parse_args(argv)


def build(argv: list[str] | None = None) -> argparse.ArgumentParser:
    """The parser; only the part that ``argv`` asks for is filled in, all of it without ``argv``."""
    return _built(argv[0] if argv else None, os.environ.get("BENCHSEAL_SITE", "site"))


@lru_cache(maxsize=64)
def _built(asked: str | None, site: str) -> argparse.ArgumentParser:
    """asked: the noun that is filled in; None for all. Once for all commands of a process, however many it plays."""
    parser = _Parser("benchseal", description=_ABOUT, epilog="Each command has --help with an example.")
    parser.add_argument("--version", action="version", version=f"benchseal {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    for noun, says in NOUNS.items():
        own = [command for command in COMMANDS if command.words[0] == noun]
        sub = commands.add_parser(noun, help=says, description=says, **_form(own[0] if len(own) == 1 else None))
        if asked is not None and asked != noun:
            continue
        alone = [command for command in own if len(command.words) == 1]
        for command in alone:
            _fill(sub, command, site)
        if len(own) == len(alone):
            continue
        verbs = sub.add_subparsers(metavar="VERB", required=not alone)
        for command in own:
            if command in alone:
                continue
            _fill(
                verbs.add_parser(command.words[1], help=command.says, description=command.says, **_form(command)),
                command,
                site,
            )
    return parser


def _form(command: Command | None) -> dict[str, Any]:
    if command is None:
        return {}
    return {"epilog": f"example: {command.example}"}


def _fill(parser: argparse.ArgumentParser, command: Command, site: str) -> None:
    for names, settings in command.arguments:
        named: dict[str, Any] = {"action": _NamedOnDisk} if _may_name_a_file(names, settings) else {}
        parser.add_argument(*names.split(), **_in_form(settings), **named)
    if command.needs != "nothing":
        parser.add_argument(
            "--site", metavar="DIR", default=site, help="the site's folder (BENCHSEAL_SITE, else ./site)"
        )
    if command.needs in {"session", "signature", "signatures"}:
        parser.add_argument(
            "--secret-fd", metavar="N", type=int, help="read user id and password, a line each, from this open pipe"
        )
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    parser.add_argument("--quiet", action="store_true", help="say nothing but problems")
    parser.add_argument("-v", "--verbose", action="store_true", help="show what went wrong inside")
    parser.set_defaults(function=command.function, command=" ".join(command.words), needs=command.needs)


def _may_name_a_file(names: str, settings: dict[str, Any]) -> bool:
    """Whether it is an option for one name on the disk that may be left out."""
    is_single = not settings.keys() & {"action", "nargs", "required"}
    is_named = names.startswith("-") and settings.get("metavar") in NAMES_ON_DISK
    return is_single and is_named and settings.get("default", "") == ""  # who asks for None tells it by itself


def _in_form(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings of an argument whose text is in form NFC, as records keep it, before any command looks at it.

    Keyboards differ in how they give an accent; what a command shows, finds and writes must not. A name on the disk
    stays as it is: in another form it would name nothing.
    """
    is_switch = settings.get("action", "append") != "append"
    if is_switch or "type" in settings or settings.get("metavar") in NAMES_ON_DISK:
        return settings
    return {**settings, "type": _composed}


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text)
