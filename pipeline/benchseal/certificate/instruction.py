"""A sheet for customers: how to check a certificate, on one page of A4 or Letter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

if TYPE_CHECKING:
    from datetime import datetime

Paper: TypeAlias = Literal["a4", "letter"]

TEMPLATE: Final = "instruction.html.jinja"
STYLE: Final = "instruction.css"
_SIZES: Final[dict[Paper, str]] = {"a4": "A4", "letter": "letter"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """What stands on it. prints: fingerprints in groups to be read out. words: each word, its meaning, what to do."""

    laboratory: str
    program: str
    made_on: str
    prints: tuple[str, ...]
    prints_said: str
    words: tuple[tuple[str, str, str], ...]


def in_groups(fingerprint: str) -> str:
    """A fingerprint in groups of four, as people read it to each other."""
    return " ".join(fingerprint[at : at + 4] for at in range(0, len(fingerprint), 4))


def render_instruction(sheet: Sheet, paper: Paper, at: datetime) -> bytes:
    """PDF bytes. at: aware."""
    from benchseal.certificate.render import render_paper  # noqa: PLC0415  heavy

    return render_paper(TEMPLATE, STYLE, at, size=_SIZES[paper], sheet=sheet)
