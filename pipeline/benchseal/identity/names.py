"""Person identifiers and printed names: permanent, readable, and not to be mistaken for another person's.

An identifier is ``p-`` and a handle in lower-case ASCII (``p-ines.brandt``): typed once by an administrator, never
reused, never renamed. ASCII alone settles mixed scripts and invisible characters for identifiers; printed names are
anybody's script, so they get rules of their own.

Limits: scripts are told by the character names of the Unicode database, and the table of look-alike letters holds the
usual ones, from memory; two names that differ by a rarer pair are both accepted. Pages show the identifier beside
the name.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING
from unicodedata import normalize

from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.people import Person

PREFIX = "p-"
LONGEST_ID = 40
LONGEST_NAME = 80

_ID = re.compile(r"p-(?=[a-z0-9._-]{2})[a-z][a-z0-9]*(?:[._-][a-z0-9]+)*")
_MARKS_IN_NAMES = frozenset(" -'’.,()·")  # noqa: RUF001  the typographic apostrophe is meant
_SCRIPTS_WRITTEN_TOGETHER = (  # Unicode UTS 39 section 5.1: Jpan, Kore, Hanb
    frozenset({"CJK", "HIRAGANA", "KATAKANA"}),
    frozenset({"CJK", "HANGUL"}),
    frozenset({"CJK", "BOPOMOFO"}),
)
_ALIKE_IN_IDS = (("rn", "m"), ("vv", "w"), ("0", "o"), ("1", "l"), (".", ""), ("-", ""), ("_", ""))
_ALIKE_IN_NAMES = str.maketrans(
    "АВЕКМНОРСТУХІЈЅаеорсухіјѕΑΒΕΖΗΙΚΜΝΟΡΤΥΧονIı",  # noqa: RUF001  they are here because they look alike
    "ABEKMHOPCTYXlJSaeopcyxijsABEZHlKMNOPTYXovli",
)


def person_id(typed: str) -> str | Problem:
    """The identifier someone typed, at enrolment or sign-in: case, width and a missing ``p-`` do not matter."""
    folded = normalize("NFKC", typed).strip().casefold()
    found = folded if folded.startswith(PREFIX) else PREFIX + folded
    if len(found) <= LONGEST_ID and _ID.fullmatch(found):
        return found
    return Problem(
        "identity.person-id",
        "user id",
        f"{_quoted(typed)} is not a user id: letters a to z and figures, parts joined by one full stop, hyphen or "
        f"underscore, beginning with a letter, 2 to {LONGEST_ID - len(PREFIX)} characters.",
        "Choose an id such as ines.brandt.",
    )


def new_person_problems(person: str, printed_name: str, known: Iterable[Person]) -> tuple[Problem, ...]:
    """Everything that speaks against enrolling someone under this identifier and printed name.

    known: everybody ever enrolled, disabled persons too, since an identifier is never given twice.
    """
    problems = list(printed_name_problems(printed_name))
    found = person_id(person)
    if isinstance(found, Problem):
        problems.append(found)
    elif found != person:
        raise AssertionError("pass the identifier through person_id first")
    for other in known:
        problems += _clashes(person, printed_name, other)
    return tuple(problems)


def printed_name_problems(name: str) -> tuple[Problem, ...]:
    """Everything that speaks against printing this name beside a signature."""
    wrong = (
        (not any(map(str.isalpha, name)), "it has no letter.", "Give the name as signatures shall show it."),
        (len(name) > LONGEST_NAME, f"it is longer than {LONGEST_NAME} characters.", "Shorten it."),
        (name != " ".join(name.split()), "it has a blank at an end, or two together.", "Remove it."),
        (
            normalize("NFKC", name) != name,
            "it uses compatibility forms (Unicode NFKC).",
            "Type it in ordinary letters.",
        ),
    )
    problems = [_name_problem(name, what, remedy) for is_wrong, what, remedy in wrong if is_wrong]
    strange = sorted({letter for letter in name if not _may_stand_in_a_name(letter)})
    if strange:
        listed = ", ".join(f"U+{ord(letter):04X}" for letter in strange)
        problems.append(_name_problem(name, f"it holds characters no name needs: {listed}.", "Leave them out."))
    scripts = _scripts(name)
    if len(scripts) > 1 and not any(scripts <= together for together in _SCRIPTS_WRITTEN_TOGETHER):
        listed = ", ".join(script.capitalize() for script in sorted(scripts))
        problems.append(_name_problem(name, f"it mixes scripts: {listed}.", "Type it in one script."))
    return tuple(problems)


def _clashes(person: str, printed_name: str, other: Person) -> list[Problem]:
    problems = []
    if person == other.person:
        problems.append(
            Problem(
                "identity.person-known",
                "user id",
                f"{person} is already enrolled, for {other.printed_name}.",
                "An id is never given twice. Choose another; for the same person, change or enable the account.",
            )
        )
    elif _id_shape(person) == _id_shape(other.person):
        problems.append(
            Problem(
                "identity.person-alike",
                "user id",
                f"{person} is easily taken for {other.person}.",
                "Choose an id that differs by more than a stop, or a figure that looks like a letter.",
            )
        )
    if person != other.person and _same_name(printed_name, other.printed_name):
        problems.append(
            Problem(
                "identity.name-alike",
                "printed name",
                f"{_quoted(printed_name)} reads like the name of {other.person}, {_quoted(other.printed_name)}.",
                "Signatures must tell the two apart: add a middle name or initial.",
            )
        )
    return problems


def _id_shape(person: str) -> str:
    shape = person.removeprefix(PREFIX)
    for seen, taken_for in _ALIKE_IN_IDS:
        shape = shape.replace(seen, taken_for)
    return shape


def _same_name(one: str, other: str) -> bool:
    return _folded(one) == _folded(other) or _name_shape(one) == _name_shape(other)


def _folded(name: str) -> str:
    return normalize("NFKC", normalize("NFKC", name).casefold())


def _name_shape(name: str) -> str:
    return _folded(normalize("NFKC", name).translate(_ALIKE_IN_NAMES))


def _may_stand_in_a_name(letter: str) -> bool:
    return letter in _MARKS_IN_NAMES or unicodedata.category(letter) in {"Lu", "Ll", "Lt", "Lm", "Lo", "Mn", "Mc"}


def _scripts(name: str) -> frozenset[str]:
    """Scripts of the letters; a letter's Unicode name begins with its script (modifier letters belong to all)."""
    letters = (letter for letter in name if unicodedata.category(letter) in {"Lu", "Ll", "Lt", "Lo"})
    return frozenset(re.split(r"[ -]", unicodedata.name(letter, "UNNAMED"), maxsplit=1)[0] for letter in letters)


def _name_problem(name: str, what: str, remedy: str) -> Problem:
    return Problem("identity.printed-name", "printed name", f"{_quoted(name)} cannot be used: {what}", remedy)


def _quoted(text: str) -> str:
    """Text from outside, cut and escaped, so that a message never carries control characters."""
    return ascii(text[:60]) if not text.isprintable() else repr(text[:60])
