"""Which lines of a specification count for the conclusion, what they amount to, and what each line is called.

One function decides for everybody: the conclusion of record (draft, ``verify``) and the sentence on the page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.certificate.language import ENGLISH
from benchseal.records.results import WorkedResult
from benchseal.records.sums import WorkedSum

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.certificate.language import Words
    from benchseal.records.evidence import Evidence

Line: TypeAlias = WorkedResult | WorkedSum  # what a line of the specification gave
Amounts: TypeAlias = Literal["complies", "fails", "open", "no limits"]

COMPLIES: Final = "complies with the specification"
FAILS: Final = "does not comply with the specification"
NOT_ALL: Final = "is not said to comply in every result"
NO_LIMITS: Final = "no limits are specified, no statement of conformity is made"
_RECORDED: Final[dict[Amounts, str]] = {
    "complies": COMPLIES,
    "fails": FAILS,
    "open": NOT_ALL,
    "no limits": NO_LIMITS,
}


def lines_of(evidence: Evidence) -> list[Line]:
    """Every line of a certificate in the order of its page: the results, then the sums of some of them."""
    return [*(basis.result for basis in evidence.results), *evidence.sums]


def line_id(line: Line) -> str:
    """The identifier a line keeps through corrections, of a result or of a sum."""
    return line.sum_id if isinstance(line, WorkedSum) else line.result_id


@dataclass(frozen=True, slots=True)
class Decided:
    """Results by what is said of them, each group in the order of the results, and what they amount to together.

    informative: those of lines without a limit. They are for information and do not count.
    """

    failing: tuple[Line, ...]
    passing: tuple[Line, ...]
    conditional: tuple[Line, ...]
    unsaid: tuple[Line, ...]
    informative: tuple[Line, ...]
    amounts: Amounts


def decide(results: Sequence[Line]) -> Decided:
    """What the results amount to: only those with a limit count."""
    judged = [result for result in results if has_limit(result)]
    failing = tuple(result for result in judged if result.verdict in {"fail", "conditional fail"})
    conditional = tuple(result for result in judged if result.verdict == "conditional pass")
    unsaid = tuple(result for result in judged if result.verdict == "none")
    amounts: Amounts = "complies"
    if not judged:
        amounts = "no limits"
    elif failing:
        amounts = "fails"
    elif conditional or unsaid:
        amounts = "open"
    return Decided(
        failing=failing,
        passing=tuple(result for result in judged if result.verdict == "pass"),
        conditional=conditional,
        unsaid=unsaid,
        informative=tuple(result for result in results if not has_limit(result)),
        amounts=amounts,
    )


def conclusion_for(results: Sequence[Line]) -> str:
    """What ``CertificateFacts.conclusion`` must say of these results."""
    return _RECORDED[decide(results).amounts]


def has_limit(result: Line) -> bool:
    """Whether the result's line of the specification has a limit."""
    return bool(result.lower or result.upper)


def line_names(these: Sequence[Line], among: Sequence[Line], words: Words = ENGLISH) -> list[str]:
    """What each line is called: its element, and where ``among`` has it on several lines, what tells them apart.

    ``calcium``; ``calcium as received``; ``calcium, dry, as CaCO3``.
    """
    return list(dict.fromkeys(_line_name(result, among, words) for result in these))


def _line_name(result: Line, among: Sequence[Line], words: Words) -> str:
    if isinstance(result, WorkedSum):
        return _sum_name(result, [other for other in among if isinstance(other, WorkedSum)], words)
    same = [other for other in among if isinstance(other, WorkedResult) and other.element == result.element]
    quantities = {other.quantity for other in same}
    bases = {(other.basis, other.expressed_as) for other in same}
    name = words.element(result.element)
    parts = [words.word("line", result.quantity)] if len(quantities) > 1 else []
    if len(bases) > 1:
        if result.basis == "as received" and not parts and not result.expressed_as:
            return words.say("name/as_received", name=name)
        as_substance = words.say("name/as", substance=result.expressed_as) if result.expressed_as else ""
        parts += [words.word("basis_named", result.basis), as_substance]
    return words.say("list/comma").join((name, *(part for part in parts if part)))


def _sum_name(of: WorkedSum, among: Sequence[WorkedSum], words: Words) -> str:
    """``the sum of lead and cadmium``; where several sums have these elements, what tells them apart."""
    same = [other for other in among if set(other.elements) == set(of.elements)]
    parts = [words.word("line", of.quantity)] if len({other.quantity for other in same}) > 1 else []
    parts += [words.word("basis_named", of.basis)] if len({other.basis for other in same}) > 1 else []
    parts += [words.word("bound", of.bound)] if len({other.bound for other in same}) > 1 else []
    name = words.say("name/sum", elements=words.listed([words.element(element) for element in of.elements]))
    return words.say("sum/bounds", name=name, parts="; ".join(parts)) if parts else name


def listed_lines(names: Sequence[str], words: Words = ENGLISH) -> str:
    """``a, b and c``; names that hold commas themselves are all joined by ``and``."""
    return words.say("list/and").join(names) if any("," in name for name in names) else words.listed(names)
