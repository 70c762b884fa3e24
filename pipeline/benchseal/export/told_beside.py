"""What a profile says beside the fields: titles and fixed texts that a reader would take for a word of a result.

A fixed text stands in every row, whatever the row holds: so it may say nothing that rows say differently.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from benchseal.export.date_titles import date_titled
from benchseal.export.element_words import names_another, names_one
from benchseal.export.record_words import ELEMENTS, UNITS, VALUES, WITH_UNIT, WORDS
from benchseal.export.senses import YES_AND_NO
from benchseal.export.title_words import elements_in, senses_in, units_in, words_of
from benchseal.export.usual_titles import field_named, fields_titled
from benchseal.export.usual_words import read_as, same_size, says_nothing, sense_of, unit_meant, unit_spelled
from benchseal.export.value_titles import value_titled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.export.senses import Sense
    from benchseal.records.profile import Column, Profile

# Fields whose words a fixed text may not be, and its title may not name.
_SPOKEN: Final = ("verdict", "basis", "change_kind", "signature_state", "reported_kind", "qualifier")
_SAYS_ELEMENT: Final = frozenset({"element_symbol", "analyte_name", "cas_number", "loinc_code", "sum_elements"})
_OF_AN_ELEMENT: Final = WITH_UNIT | {"qualifier", "verdict", "reported_kind"}
# Words of a title over what is the same in every row; over anything else yes, no or a letter is an answer of the row.
_OF_THE_FILE: Final = frozenset(
    "lab laboratory labor laboratoire laboratorio sender source quelle origin site location standort country land pays "  # noqa: SIM905
    "system interface version format type typ record rectype segment line currency language sprache company firma "
    "tenant mandant plant werk department abteilung project projekt contract vertrag cost account receiver recipient "
    "file schema encoding message key schlüssel".split()
)
_ANSWERS: Final = frozenset(text for pair in YES_AND_NO for text in pair)
_SHORT: Final = 2
_NEVER_KEPT: Final = frozenset({"matrix", "container_id", "loinc_code"})  # empty in every row: nobody is contradicted
_UNIT_LIKE: Final = re.compile(
    r"(?:mc|[kmnpu\u00b5\u03bc])?(?:g|l|mol|eq)\s*/\s*[0-9 ]*[a-z]{1,5}[0-9\u00b2\u00b3]?", re.IGNORECASE
)
_UNIT_NAMES: Final = frozenset(
    {"ppm", "ppb", "ppt", "ppmw", "ppbw", "percent", "prozent", "permille", "promille", "pct"}
)
# Words of a title that are a symbol too: letters alone, and ``as`` and ``in`` before other words.
NO_SYMBOL: Final = re.compile(r"\b[A-Za-z]\b|\b(?:as|in)\b(?=.)", re.IGNORECASE)
_IN_BRACKETS: Final = re.compile(r"[\[(]([^\])]+)[\])]")
_SUM_WORDS: Final = frozenset({"sum", "total", "summe", "somme", "suma", "somma"})


def told_beside(profile: Profile) -> Iterator[tuple[str, str, str, str]]:
    """Place, code, what, remedy. profile: of columns, not of messages."""
    for column in profile.columns:
        place = f"column {column.title}"
        for code, what, remedy in (*_fixed(column, profile), *_titled(column, profile)):
            yield place, code, what, remedy
    if profile.one_row_per == "result" and len(profile.choose.methods) != 1:
        valued = any(column.field in VALUES for column in profile.columns)
        if valued and not any(column.field in _SAYS_ELEMENT and column.form != "flag" for column in profile.columns):
            what, remedy = "values stand in it, and no column says of which element.", "Add a column with field "
            yield "", "element-not-shown", what, f"{remedy}element_symbol, or choose the one method of it."


def _fixed(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    text = column.fixed
    if not text or column.field or column.form not in {"by_field", "text"} or says_nothing(text):
        return
    usual = fields_titled(column.title)
    titled = usual or frozenset()
    if titled & UNITS or _is_plainly_a_unit(text):
        if not _all_in(text, profile):
            what = f"every row would say {text!r} for its unit, and not every value says so by its unit."
            yield "fixed-misleads", what, "Use field unit_ucum; or say the same unit in each column of values."
    elif titled & _SAYS_ELEMENT or names_one(text):
        if len(profile.choose.methods) != 1:
            what = f"every row would say {text!r} for its element, whatever it is of."
            yield "fixed-misleads", what, "Use field element_symbol, or choose the one method of this element."
    elif field := _field_told(column.title, text):
        what = f"every row would say {text!r} for {field}, whatever it holds."
        yield "fixed-misleads", what, f"Use field {field}."
    elif titled and not titled & (_chosen(profile) | _NEVER_KEPT):
        what = f"every row would say {text!r} under a title that is usual for {' or '.join(sorted(titled)[:3])}."
        yield "fixed-misleads", what, "Use the field, with a map if the receiver has another word for it."
    elif usual == frozenset():
        what = f"every row would say {text!r} under a title of what the record does not hold."
        yield "fixed-misleads", what, "Leave the column out, or give it another title."
    elif _is_answer(text) and not _names_the_file(column.title):
        what = f"every row would say {text!r}, which reads as an answer, under {column.title!r}."
        yield "fixed-misleads", what, "Write a code of two signs or more, or name in the title what of the file it is."


def _field_told(title: str, text: str) -> str:
    """The field for which a title or a fixed text is a usual word; empty where neither is."""
    for field in _SPOKEN:
        alike = read_as(field, text) if len(text.strip()) > _SHORT or not text.isalnum() else None
        if senses_in(field, title) or _in_full(field, text) or alike:
            return field
    return ""


def _in_full(field: str, text: str) -> bool:
    """Whether a text says a sense in words that are no abbreviation, whatever stands above it."""
    return any(len(word) > _SHORT for words in words_of(text) for word in words if senses_in(field, word)) or (
        len(text) > _SHORT and bool(senses_in(field, text))
    )


def _chosen(profile: Profile) -> frozenset[str]:
    """Fields that are the same in every row by the choice of the profile."""
    one_customer, one_method = len(profile.choose.customers) == 1, len(profile.choose.methods) == 1
    of_method = {"method_id", "technique"} if one_method else set()
    return frozenset(of_method | ({"customer_id"} if one_customer else set()))


def _is_answer(text: str) -> bool:
    plain = text.strip().casefold()
    is_listed = any(sense_of(field, plain) is not None for field in _SPOKEN)
    return plain in _ANSWERS or (len(plain) <= _SHORT and is_listed)


def _names_the_file(title: str) -> bool:
    return any(word.casefold() in _OF_THE_FILE for words in words_of(title) for word in words)


def _titled(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    if not column.field:
        return
    if column.field in WITH_UNIT:
        yield from _unit_titled(column)
    yield from value_titled(column, profile)
    yield from date_titled(column)
    yield from _element_titled(column, profile)
    told = _flag_senses(column) if column.form == "flag" else []
    if told and not any(set(column.holds) <= sense.words for sense in told):
        what = f"its title is read as {told[0].says}, and yes stands for {', '.join(map(repr, column.holds))}."
        yield "title-misleads", what, "Name in the title what yes stands for."
    titled = fields_titled(column.title, column.of)
    says_more = told and not field_named(column.title, column.of)
    if titled is not None and not says_more and column.field not in titled:
        usual = " or ".join(sorted(titled)[:3]) or "no field of a row"
        yield (
            "title-misleads",
            f"its title is usual for {usual}, and it is {column.field}.",
            "Give it a title of its own.",
        )


def _unit_titled(column: Column) -> Iterator[tuple[str, str, str]]:
    said = unit_texts(column.title)
    said += [unit for unit in units_in(column.title) if not any(same_size(unit, text) for text in said)]
    for text in said:
        if not column.unit or not same_size(column.unit, text):
            what = f"its title says {text!r}, and its unit is {column.unit or 'that of each row'}."
            yield "title-misleads", what, "Say by unit what the title says, or leave it out."


def _element_titled(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    if column.of:
        split = (" ".join(words) for words in words_of(column.title))
        texts = dict.fromkeys(NO_SYMBOL.sub("", text) for text in (column.title, *split))
        if any(names_another(column.of, text) == "another element" for text in texts):
            yield (
                "title-misleads",
                f"its title names another element, and it is of {column.of}.",
                "Name its own element.",
            )
        elif _names_a_part(column):
            what = f"its title names {' '.join(sorted(elements_in(column.title)))} alone, and it is of {column.of}."
            yield "title-misleads", what, "Name every element of the sum."
    elif column.field in _OF_AN_ELEMENT and (names_one(column.title) or elements_in(column.title)):  # noqa: SIM102
        if len(profile.choose.methods) != 1:
            what, remedy = (
                "its title names an element, and rows of every element stand in it.",
                "Leave the element out, ",
            )
            yield "title-misleads", what, f"{remedy}or choose the one method of it, or take columns with of."


def _names_a_part(column: Column) -> bool:
    named, own = elements_in(column.title), {*column.of.split()}
    words = {word.casefold() for words in words_of(column.title) for word in words}
    return bool(named) and named < own and not words & _SUM_WORDS and column.field not in ELEMENTS


def _flag_senses(column: Column) -> list[Sense]:
    """What the title of a flag says of its field; of a field with words, else a verdict would be read there."""
    own = senses_in(column.field, column.title, is_flag=True)
    if column.field == "qualifier" and not own:
        told = senses_in("reported_kind", column.title)
        own = [type(one)(one.says, one.texts, frozenset({"<"} if "below_limit" in one.words else ())) for one in told]
    if own or column.field not in WORDS or column.field in {"verdict", "flags"}:
        return own
    return [type(one)(one.says, one.texts, frozenset()) for one in senses_in("verdict", column.title)]


def _is_plainly_a_unit(text: str) -> bool:
    """Whether a text is a unit wherever it stands: a listed one, or formed like one, with a stroke or a sign."""
    plain = text.strip()
    if plain.isalpha():
        return plain.casefold() in _UNIT_NAMES
    return bool(unit_meant(plain) or unit_spelled(plain) or _UNIT_LIKE.fullmatch(plain))


def _all_in(text: str, profile: Profile) -> bool:
    """Whether every column with a unit is held to the one that ``text`` is."""
    held = [column for column in profile.columns if column.field in WITH_UNIT]
    own = [column for column in profile.columns if column.field in UNITS]
    return not own and all(column.unit and same_size(column.unit, text) for column in held)


def unit_texts(title: str) -> list[str]:
    """What of a title is plainly a unit: the whole, what stands in brackets, or a word of it."""
    parts = [title, *_IN_BRACKETS.findall(title)]
    whole = [part.strip() for part in parts if _is_plainly_a_unit(part) and " " not in part.strip()]
    words = [word.strip("[](),;:") for word in title.split()]
    return list(dict.fromkeys([*whole, *(word for word in words if _is_plainly_a_unit(word))]))
