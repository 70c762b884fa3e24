"""Characters the type prints that a page would not tell from others: named before anything is drafted."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pytest
from fontTools.ttLib import TTFont

from benchseal import shipped
from benchseal.certificate.complete import FONT_FILES, MISREAD, misread, printable

if TYPE_CHECKING:
    from collections.abc import Iterator

_JOINS = "liga"  # of letters as they are written; accents apart from their letter are not printed
_LIGATURE = 4


def _tables(font: Any) -> Iterator[Any]:  # noqa: ANN401  fontTools has no types
    """Subtables of the substitutions that join letters unasked."""
    told = font["GSUB"].table
    numbers = {
        at for one in told.FeatureList.FeatureRecord if one.FeatureTag == _JOINS for at in one.Feature.LookupListIndex
    }
    for number in sorted(numbers):
        for table in told.LookupList.Lookup[number].SubTable:
            yield getattr(table, "ExtSubTable", table)


@pytest.mark.parametrize("name", FONT_FILES)
def test_a_sign_that_joins_letters_is_the_sign_of_no_character_that_is_printed(name: str) -> None:
    """Read by fontTools from the type itself: OpenType 1.9, GSUB, lookup type 4."""
    font = TTFont(io.BytesIO(shipped.template_bytes(name)))
    signs = {glyph: chr(code) for code, glyph in font.getBestCmap().items() if printable(chr(code))}
    shared = {
        signs[one.LigGlyph]
        for table in _tables(font)
        if table.LookupType == _LIGATURE
        for first, ones in table.ligatures.items()
        for one in ones
        if one.LigGlyph in signs and {first, *one.Component} <= signs.keys()
    }
    assert shared, "or the test shows nothing"
    assert shared <= set(MISREAD)


@pytest.mark.parametrize(
    ("text", "number", "remedy"),
    [
        pytest.param("sti\ufb00, stiff", "U+FB00", "Write it as 'ff'.", id="one sign for it and for two letters"),
        pytest.param("1\u20442 tub", "U+2044", "with / (U+002F)", id="figures beside it are drawn smaller"),
        pytest.param("\u2615 mug", "U+2615", "as a word", id="not read back"),
    ],
)
def test_a_character_that_would_be_misread_is_named_with_its_place_and_what_to_write(
    text: str, number: str, remedy: str
) -> None:
    (problem,) = misread("item, description", text)
    assert (problem.code, problem.where) == ("certificate.character-misread", "item, description")
    assert number in problem.what
    assert remedy in problem.remedy


def test_what_looks_like_them_is_printed() -> None:
    assert not [*misread("item", "stiff 1/2 \u00bd \ufb01 \u00b5g/g")]
