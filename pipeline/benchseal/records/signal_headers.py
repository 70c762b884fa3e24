"""What a header says its column of signals is: two columns of different kinds are never readings of one solution."""

from __future__ import annotations

import re
from typing import Final

# Parts of headers of peaks, in small letters.
AREAS: Final = ("area", "fläche", "flaeche", "integr", "int. abs")
HEIGHTS: Final = ("height", "höhe", "hoehe")
_SECONDS = re.compile(r"\ba(?:bs)?[ .·*]?s\b")
_WORDS: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("spread", re.compile(r"\b(?:sd|rsd|dev|cv|vk|stdev|stabw)\b|%")),
    ("mean", re.compile(r"\b(?:mean|average|avg|mittel|mittelwert|mw)\b")),
    ("background", re.compile(r"\b(?:bg|bkg|background|untergrund)\b")),
    ("concentration", re.compile(r"\b(?:conc|concentration|konz|konzentration|gehalt)\b")),
    ("absorbance", re.compile(r"\b(?:abs|absorbance|absorption|ext|extinktion|extinction)\d*\b|^a\d*$")),
    ("signal", re.compile(r"\bsignal\d*\b")),
)


def kind_of_signal(header: str) -> str:
    """``area``, ``height``, ``absorbance`` or what else a header names; empty where it names none of them.

    Of a mean of areas it is ``mean``, of an integrated absorbance ``area``.
    """
    text = " ".join(re.sub(r"[_:=]+", " ", header).lower().split())
    first = next((kind for kind, pattern in _WORDS[:3] if pattern.search(text)), "")
    if first:
        return first
    if any(word in text for word in AREAS) or _SECONDS.search(text):
        return "area"
    if any(word in text for word in HEIGHTS):
        return "height"
    return next((kind for kind, pattern in _WORDS[3:] if pattern.search(text)), "")
