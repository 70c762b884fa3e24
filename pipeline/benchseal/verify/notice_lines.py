"""What a notice says its results are of, against the identifiers that were signed.

The identifier of a result is made of ledger, sample, element, fraction, basis and quantity (``records.ids``), and the
withdrawal that an approver signed names results by it. So whoever has the notice makes the identifier again from the
words in it. The amount a claim or a unit stands for is no part of an identifier; neither are, for a reader, the parts
of a sum, since its identifier holds a name that no page prints.
"""

from __future__ import annotations

import re
from itertools import product
from typing import TYPE_CHECKING, Final, get_args

from benchseal.certificate.language import Words
from benchseal.records.ids import result_id
from benchseal.records.species import ATOMIC_WEIGHTS, LONGEST_FORMULA
from benchseal.records.specification import Basis
from benchseal.records.withdrawal import USUAL_FRACTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.withdrawal import NamedLine, WithdrawalNotice

_OPEN: Final = "\N{OBJECT REPLACEMENT CHARACTER}"  # stands for what no identifier holds


def line_faults(notice: WithdrawalNotice) -> Iterator[str]:
    """Each line whose words are not what its identifier is made of."""
    words = Words(notice.form)
    for line in notice.lines:
        if not _is_sum(line, words) and not _fits(notice, line, words):
            yield f"{line.substance}, {line.quantity}: its identifier is that of another sample or another result."


def _is_sum(line: NamedLine, words: Words) -> bool:
    """Whether a line is named as a sum of elements is."""
    form = _pattern(words.say("sum/named", elements=_OPEN)).fullmatch(line.substance)
    found = re.findall(r"[A-Z][a-z]?", form[1]) if form else []
    return len(found) > 1 and form is not None and form[1] == words.listed(found) and set(found) <= set(ATOMIC_WEIGHTS)


def _fits(notice: WithdrawalNotice, line: NamedLine, words: Words) -> bool:
    named = dict.fromkeys((*ATOMIC_WEIGHTS, line.substance))
    elements = [symbol for symbol in named if words.substance(symbol) == line.substance]
    return any(
        result_id(notice.ledger, notice.sample.sample, element, *parts) == line.result_id
        for element, parts in product(elements, _possible(line, words))
    )


def _possible(line: NamedLine, words: Words) -> Iterator[tuple[str, str, str, str]]:
    """Fraction, basis, quantity and the substance it is given as, each as the words may mean them."""
    measured, substance = _measured(line.quantity, words)
    for given, quantity in dict.fromkeys(((line.quantity, ""), (measured, substance))):
        stated = (line.fraction,) if line.fraction else (*USUAL_FRACTIONS, given.partition(",")[0])
        for fraction, basis in product(dict.fromkeys(stated), get_args(Basis)):
            for kind, text in _texts(fraction, basis, words):
                if _pattern(text).fullmatch(given):
                    yield fraction, basis, kind, quantity


def _measured(quantity: str, words: Words) -> tuple[str, str]:
    """What is before ``, as CaCO3``, and the formula; as it is, where no formula stands there."""
    found = _pattern(words.say("quantity/as", quantity=_OPEN, substance=_OPEN)).fullmatch(quantity)
    return (found[1], found[2]) if found and len(found[2]) <= LONGEST_FORMULA else (quantity, "")


def _texts(fraction: str, basis: str, words: Words) -> Iterator[tuple[str, str]]:
    """Kind of quantity and its words."""
    said = {"fraction": words.word("fraction", fraction), "basis": words.word("basis", basis)}
    yield "concentration", words.say("quantity/on_basis", **said)
    yield "content", words.say("quantity/on_basis", **said)
    yield "content", words.say("quantity/mass_fraction", **said)
    yield "amount_per_unit", words.say("quantity/per_unit", fraction=said["fraction"], unit=_OPEN)
    yield "percent_of_claim", words.say("quantity/of_claim", claim=_OPEN)
    yield "release_per_area", words.say("quantity/per_area")


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile("(.+)".join(map(re.escape, text.split(_OPEN))))
