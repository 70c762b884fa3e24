"""What a profile says beside the fields: titles and fixed texts that a reader would take for a word of a result.

A fixed text stands in every row, whatever the row holds: so it may say nothing that rows say differently.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final

from benchseal.export.element_words import names_another, names_one
from benchseal.export.record_words import UNITS, VALUES, WITH_UNIT
from benchseal.export.usual_words import read_as, same_size, says_nothing, unit_meant, unit_spelled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.profile import Column, Hl7, Profile

# Words of a title, in small letters, that make a reader take the column for a field whose words rows hold.
_TITLED: Final = {
    "verdict": "verdict evaluation conformity compliance assessment judgement judgment conclusion bewertung "
    "beurteilung konformität urteil conformité conformidad conformità oordeel",
    "basis": "basis bezug bezugsbasis base",
    "qualifier": "sign qualifier operator comparator vorzeichen signe signo segno",
    "change_kind": "change change_kind änderung changement cambio",
    "reported_kind": "reported_kind",
    "signature_state": "signature_state",
}  # fmt: skip
_UNIT_TITLED: Final = frozenset("unit units uom einheit einheiten unité unidad unità eenheid enhed enhet".split())  # noqa: SIM905
_ELEMENT_TITLED: Final = frozenset("element analyte parameter symbol metal analyt elemento élément".split())  # noqa: SIM905
# Fields whose usual words a fixed text may not be, whatever its title; short texts are left to the title.
_SPOKEN: Final = ("verdict", "basis", "change_kind", "signature_state")
_SHORTEST: Final = 4
_SHORT_WORDS: Final = frozenset({"dry", "new", "nok", "oos", "neu"})
_SAYS_ELEMENT: Final = frozenset({"element_symbol", "analyte_name", "cas_number", "loinc_code", "sum_elements"})
_UNIT_LIKE: Final = re.compile(
    r"(?:mc|[kmnpu\u00b5\u03bc])?(?:g|l|mol|eq)\s*/\s*[0-9 ]*[a-z]{1,5}[0-9\u00b2\u00b3]?", re.IGNORECASE
)
# Words of a title that are a symbol too: letters alone, and ``as`` and ``in`` before other words.
_NO_SYMBOL: Final = re.compile(r"\b[A-Za-z]\b|\b(?:as|in)\b(?=.)", re.IGNORECASE)
_IN_BRACKETS: Final = re.compile(r"[\[(]([^\])]+)[\])]")


def told_beside(profile: Profile) -> Iterator[tuple[str, str, str, str]]:
    """Place, code, what, remedy. profile: of columns, not of messages."""
    for column in profile.columns:
        place = f"column {column.title}"
        for code, what, remedy in (*_fixed(column, profile), *_titled(column, profile)):
            yield place, code, what, remedy
    if profile.one_row_per == "result" and len(profile.choose.methods) != 1:
        valued = any(column.field in VALUES for column in profile.columns)
        if valued and not any(column.field in _SAYS_ELEMENT and column.form != "flag" for column in profile.columns):
            what = "values stand in it, and no column says of which element."
            yield (
                "",
                "element-not-shown",
                what,
                "Add a column with field element_symbol, or choose the one method of it.",
            )


def named_codes(hl7: Hl7) -> Iterator[tuple[str, str, str, str]]:
    """As ``told_beside``, of the receiver's codes of a profile of messages: what their names say."""
    for code in hl7.codes:
        place, remedy = f"hl7, code {code.code}", "Let the name say what the code is for."
        if (other := names_another(code.element, _NO_SYMBOL.sub("", code.name))) == "another element":
            yield (
                place,
                "title-misleads",
                f"its name {code.name!r} names {other}, and it is for {code.element}.",
                remedy,
            )
        for text in _unit_texts(code.name):
            if not same_size(code.unit, text):
                what = f"its name says {text!r}, and it is for results in {code.unit}."
                yield place, "title-misleads", what, remedy


def _fixed(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    text = column.fixed
    if not text or column.field or says_nothing(text):
        return
    titled = _field_of_title(column.title)
    spoken = next((field for field in _SPOKEN if _is_word(text) and read_as(field, text) is not None), "")
    if field := titled or spoken:
        what = f"every row would say {text!r} for {field}, whatever it holds."
        yield "fixed-misleads", what, f"Use field {field}."
    elif _words(column.title) & _UNIT_TITLED or _is_plainly_a_unit(text):
        if not _all_in(text, profile):
            what = f"every row would say {text!r} for its unit, and not every value says so by its unit."
            yield (
                "fixed-misleads",
                what,
                "Use field unit_ucum; or say the same unit in each column of values.",
            )
    elif (_words(column.title) & _ELEMENT_TITLED or names_one(text)) and len(profile.choose.methods) != 1:
        what = f"every row would say {text!r} for its element, whatever it is of."
        yield "fixed-misleads", what, "Use field element_symbol, or choose the one method of this element."


def _titled(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    if column.field in WITH_UNIT:
        for text in _unit_texts(column.title):
            if not column.unit or not same_size(column.unit, text):
                what = f"its title says {text!r}, and its unit is {column.unit or 'that of each row'}."
                yield (
                    "title-misleads",
                    what,
                    "Say by unit what the title says, or leave it out.",
                )
    if column.of and (other := names_another(column.of, _NO_SYMBOL.sub("", column.title))) == "another element":
        yield "title-misleads", f"its title names {other}, and it is of {column.of}.", "Name its own element."
    elif not column.of and column.field in VALUES and names_one(column.title) and len(profile.choose.methods) != 1:
        what = "its title names an element, and rows of every element stand in it."
        yield "title-misleads", what, "Leave the element out, or choose the one method of it, or take columns with of."
    if column.form == "flag" and _is_word(column.title):
        sense = read_as(column.field, column.title)
        if sense is not None and not set(column.holds) <= sense.words:
            what = f"its title is read as {sense.says}, and yes stands for {', '.join(map(repr, column.holds))}."
            yield "title-misleads", what, "Name in the title what yes stands for."


def _field_of_title(title: str) -> str:
    words = _words(title)
    return next((field for field, known in _TITLED.items() if words & {*known.split()}), "")


def _words(title: str) -> set[str]:
    plain = unicodedata.normalize("NFKC", title).casefold()
    return {plain.strip(), *re.findall(r"[^\W\d_]+", plain)}


def _is_word(text: str) -> bool:
    plain = text.strip().casefold()
    return len(plain) >= _SHORTEST or plain in _SHORT_WORDS


def _is_plainly_a_unit(text: str) -> bool:
    """Whether a text is a unit wherever it stands: a listed one, or formed like one, with a stroke or a sign."""
    plain = text.strip()
    return not plain.isalpha() and bool(unit_meant(plain) or unit_spelled(plain) or _UNIT_LIKE.fullmatch(plain))


def _all_in(text: str, profile: Profile) -> bool:
    """Whether every column with a unit is held to the one that ``text`` is."""
    held = [column for column in profile.columns if column.field in WITH_UNIT]
    own = [column for column in profile.columns if column.field in UNITS]
    return not own and all(column.unit and same_size(column.unit, text) for column in held)


def _unit_texts(title: str) -> list[str]:
    """What of a title is plainly a unit: the whole, what stands in brackets, or a word of it."""
    parts = [title, *_IN_BRACKETS.findall(title)]
    whole = [part.strip() for part in parts if _is_plainly_a_unit(part) and " " not in part.strip()]
    words = [word.strip("[](),;:") for word in title.split()]
    return list(dict.fromkeys([*whole, *(word for word in words if _is_plainly_a_unit(word))]))
