"""What a header says its column of signals is: two columns of different kinds are never readings of one solution."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

# Parts of headers of peaks, in small letters.
AREAS: Final = ("area", "fläche", "flaeche", "integr", "int. abs", "int abs")
HEIGHTS: Final = ("height", "höhe", "hoehe")
_SECONDS = re.compile(r"\ba(?:bs)?[ .·*]?s\b|\be(?:xt)?[ .·*]s\b")
_BACKGROUND = "bg|bkg|background|untergrund"
# Less its background, and not: the two stand beside each other in some files (common practice, no source).
_SHARES = r"pp[mbt])\b|\b[mµuμn]?g ?/ ?[mk]?[lg]\b"
_UNCORRECTED = re.compile(
    r"\b(?:gross|brutto|raw|roh|total|uncorr\w*|unkorr\w*|uncompensated|unkompensiert)\b|"
    rf"\b(?:without|ohne|not|un)[ .-]*(?:{_BACKGROUND})\b"
)
_CORRECTED = re.compile(
    r"\b(?:net|netto|corr|corrected|korr|korrigiert|compensated|kompensiert)\b|"
    rf"\b(?:aa|abs|a|t|total)\d* ?[\u002d\u2212\u2013] ?(?:{_BACKGROUND})\b|"
    rf"\b(?:less|minus)[ .-]*(?:{_BACKGROUND})\b|\b(?:{_BACKGROUND})c\b"
)
_WORDS: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("spread", re.compile(r"\b(?:sd|rsd|dev|cv|vk|stdev|stabw|std dev)\b|%")),
    ("mean", re.compile(r"\b(?:mean|average|avg|av|mittel|mittelwert|mw|median|med|moy)\b|ø|x̄")),
    ("uncorrected", _UNCORRECTED),
    ("corrected", _CORRECTED),
    ("background", re.compile(rf"\b(?:{_BACKGROUND})\d*\b")),
    (
        "concentration",
        re.compile(rf"\b(?:conc|concentration|konz|konzentration|gehalt|{_SHARES}"),
    ),
    ("absorbance", re.compile(r"\b(?:abs|absorbance|absorption|ext|extinktion|extinction)\d*\b|^a\d*$")),
    ("signal", re.compile(r"\bsignal\d*\b")),
)
_FIRST = 5  # of them say more than what is said of areas and heights
# Marks by which headers count: figures, as no wavelength has them; their ordinals; Roman numbers; letters.
_COUNTED = re.compile(r"(?<![\d.,])([1-9]\d?)(?:(?:st|nd|rd|th)(?![A-Za-z])|(?!\d|[.,]\d))")
_ROMAN = re.compile(r"(?<![A-Za-z])(I{1,3}|IV|VI{0,3}|IX|X)(?![A-Za-z])")
_LETTER = re.compile(r"(?<!\w)([A-Ja-j])(?!\w)")
_ORDINAL = re.compile(
    "(?i)\\b(first|second|third|fourth|fifth|sixth|erste|zweite|dritte|vierte|fünfte|sechste)[rsn]?\\b"
)
_ROMANS = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X")
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")
_GERMAN = ("erste", "zweite", "dritte", "vierte", "fünfte", "sechste")
_JOINTS = " _.:#-"
_OF_READINGS = {"background", "mean", "taken_at", "day", "day_time", "reading_number"}


def kind_of_signal(header: str) -> str:
    """``area``, ``height``, ``absorbance`` or what else a header names; empty where it names none of them.

    Of a mean of areas it is ``mean``, of an integrated absorbance ``area``; ``corrected`` where it is said to be less
    its background, ``uncorrected`` where it is said not to be.
    """
    text = " ".join(re.sub(r"[_:=]+", " ", header).lower().split())
    first = next((kind for kind, pattern in _WORDS[:_FIRST] if pattern.search(text)), "")
    if first:
        return first
    if any(word in text for word in AREAS) or _SECONDS.search(text):
        return "area"
    if any(word in text for word in HEIGHTS):
        return "height"
    return next((kind for kind, pattern in _WORDS[_FIRST:] if pattern.search(text)), "")


def count_readings_of_one(headers: Sequence[str]) -> bool:
    """Whether headers are the same, or the same but for one running mark, so that they count readings of one thing.

    ``Abs 1``, ``Abs 2``; ``1st``, ``2nd``; ``Abs``, ``Abs 2``, ``3``: the first may lack the mark, and one that is a
    mark alone names nothing else.
    """
    if len(set(headers)) <= 1:
        return True
    ways = [*_marks(headers[0]), ((_bare(headers[0]), ""), 1)]
    return any(_run_on(headers, stem, first) for stem, first in ways)


def between_signals(columns: Sequence[tuple[str, str, str]]) -> list[tuple[int, str]]:
    """Columns between signals of one element that name nothing of a reading: another solution may begin there.

    columns: header, meaning and element of each. Two tables stand side by side under ``Pos,Name,Abs,Nr,Ident,Abs``: the
    second ``Abs`` is no second reading of the first name. Given is the signal behind them, with the header of each.
    """
    found: list[tuple[int, str]] = []
    for element in dict.fromkeys(column[2] for column in columns if column[1] == "signal"):
        own = [nth for nth, column in enumerate(columns) if column[1:] == ("signal", element)]
        found += [
            (behind, header)
            for before, behind in pairwise(own)
            for header, means, other in columns[before + 1 : behind]
            if other in {"", element}
            and means not in _OF_READINGS
            and not kind_of_signal(header)
            and not count_readings_of_one([columns[before][0], header, columns[behind][0]])
        ]
    return found


def _run_on(headers: Sequence[str], stem: tuple[str, str], first: int) -> bool:
    """Whether the headers behind the first have its words and marks that rise, or marks alone."""
    numbers = [first]
    for header in headers[1:]:
        marks = _marks(header)
        number = next((number for words, number in marks if words == stem), 0)
        number = number or next((number for words, number in marks if words == ("", "")), 0)
        numbers.append(number)
    return all(later > before for before, later in pairwise(numbers))


def _marks(header: str) -> list[tuple[tuple[str, str], int]]:
    """Each running mark of a header as a number, with the words before and behind it."""
    found = [(each, int(each[1])) for each in _COUNTED.finditer(header)]
    found += [(each, _ROMANS.index(each[1]) + 1) for each in _ROMAN.finditer(header)]
    for each in _ORDINAL.finditer(header):
        word = each[1].lower()
        found.append((each, (_ORDINALS if word in _ORDINALS else _GERMAN).index(word) + 1))
    told = [((_bare(header[: each.start()]), _bare(header[each.end() :])), number) for each, number in found]
    letters = [
        ((_bare(header[: each.start()]), _bare(header[each.end() :])), ord(each[1].lower()) - ord("a") + 1)
        for each in _LETTER.finditer(header)
    ]
    return told + [one for one in letters if any(one[0])]  # a letter alone may name a quantity


def _bare(words: str) -> str:
    return words.strip(_JOINTS + "()")
