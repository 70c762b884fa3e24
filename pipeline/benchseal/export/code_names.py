"""What the name of a receiver's code of messages says of its results, held against what the code is for."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from benchseal.export.analytes import ANALYTES
from benchseal.export.element_words import named_symbol, names_another
from benchseal.export.record_words import VALUES
from benchseal.export.title_words import senses_in, units_in, without_units, words_of
from benchseal.export.told_beside import NO_SYMBOL, unit_texts
from benchseal.export.usual_titles import fields_titled
from benchseal.export.usual_words import same_size
from benchseal.export.value_titles import never_said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.profile import Hl7, Hl7Code

_PER: Final = re.compile(
    r"\b(?:per|pro|par|por|je)\s+(?:unit|serving|portion|tablet|capsule|dose|day|area|piece|einheit|tablette|kapsel|"
    r"dosis|tag|fläche|stück|unité|dose|jour|unidad|día)\b",
    re.IGNORECASE,
)
_OF_A_PIECE: Final = frozenset({"amount_per_unit", "release_per_area"})


def named_codes(hl7: Hl7) -> Iterator[tuple[str, str, str, str]]:
    """Place, code, what, remedy of each name that says something else than its code is for."""
    for code in hl7.codes:
        if named := sorted(_elements_coded(code.code) - {*code.element.split()}):
            what = f"the code itself names {' '.join(named)}, and it is for {code.element}."
            yield f"hl7, code {code.code}", "title-misleads", what, "Give it to its own element."
        for said, due in _contradictions(code):
            what = f"its name {code.name!r} says {said}, and it is for {due}."
            yield f"hl7, code {code.code}", "title-misleads", what, "Let the name say what the code is for."


def _contradictions(code: Hl7Code) -> Iterator[tuple[str, str]]:
    """What a name says, and what the code is for instead."""
    own = f"{code.element} as {code.expressed_as}" if code.expressed_as else code.element
    split = (" ".join(words) for words in words_of(code.name))
    texts = dict.fromkeys(NO_SYMBOL.sub("", text) for text in (code.name, *split))
    others = [other for text in texts if (other := names_another(own, text))]
    if others and not (others[0] == "another species" and code.fraction.casefold() in code.name.casefold()):
        yield others[0], own
    said = unit_texts(code.name)
    said += [unit for unit in units_in(code.name) if not any(same_size(unit, text) for text in said)]
    yield from ((repr(text), code.unit) for text in said if not same_size(code.unit, text))
    is_sum = " " in code.element
    due_words = [("basis", code.basis), ("fraction", code.fraction)]
    due_words += [("sum_bound", code.sum_bound)] if is_sum else []
    for field, due in due_words:
        told = senses_in(field, without_units(code.name), is_short=True)
        if field == "fraction" and is_sum:  # the total of the sum
            told = [sense for sense in told if "total" not in sense.words]
        if told and not any(due in sense.words for sense in told):
            yield told[0].says, f"{field} {due}"
    if never := never_said(code.name):
        yield never, "values as they were released"
    if _PER.search(code.name) and code.quantity not in _OF_A_PIECE:
        yield "an amount of a piece, an area or a time", code.quantity
    titled = fields_titled(code.name)
    if titled is not None and not titled & VALUES:
        yield f"a usual title of {' or '.join(sorted(titled)[:3]) or 'no field of a row'}", "the value"


def _elements_coded(code: str) -> frozenset[str]:
    """Elements a code says by a name, or as a whole by a symbol that is no other word."""
    named = {named_symbol(word) for words in words_of(code) for word in words if len(word) > len("Pb")}
    symbol = {code.capitalize()} if code.isupper() and len(code) == len("Pb") else set()
    return frozenset((named | symbol) & {*ANALYTES})
