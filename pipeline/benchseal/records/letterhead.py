"""The letterhead of the laboratory: name, address, logo, words of its foot and of its accreditation. One document."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from benchseal.records.printed_form import Language

LETTERHEAD_ID: Final = "LETTERHEAD"
LogoKind: TypeAlias = Literal["none", "svg", "png"]


@dataclass(frozen=True, slots=True)
class Logo:
    """A picture of the laboratory. data: text of the SVG, or base64 of the PNG; empty for none.

    width_mm: as printed, whole millimetres. words: what it shows, for those who cannot see it.
    """

    kind: LogoKind
    data: str
    width_mm: int
    words: str


@dataclass(frozen=True, slots=True)
class LetterheadWords:
    """What one language says. accreditation: the laboratory's own statement, or empty. foot: last line, or empty."""

    language: Language
    accreditation: str
    foot: str


@dataclass(frozen=True, slots=True)
class Letterhead:
    """The head and foot of every certificate. address: in lines. words: of each language that is printed."""

    kind: Literal["letterhead"]
    id: Literal["LETTERHEAD"]
    title: str
    laboratory: str
    address: str
    logo: Logo
    words: tuple[LetterheadWords, ...]
