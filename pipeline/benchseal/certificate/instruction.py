"""A sheet for customers: how to check a certificate, on one page of A4 or Letter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.certificate.language import ENGLISH, Words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

Paper: TypeAlias = Literal["a4", "letter"]

TEMPLATE: Final = "instruction.html.jinja"
STYLE: Final = "instruction.css"
VERDICTS: Final = ("GENUINE", "ALTERED", "UNKNOWN")  # the words of the check, which no language changes
_SIZES: Final[dict[Paper, str]] = {"a4": "A4", "letter": "letter"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """What stands on it. prints: fingerprints in groups to be read out. verdicts: each with its meaning."""

    laboratory: str
    program: str
    made_on: str
    prints: tuple[str, ...]
    prints_said: str
    verdicts: tuple[tuple[str, str], ...]
    words: Words = ENGLISH

    @property
    def explained(self) -> str:
        """What the command is told beside, so that it explains in the language of the sheet."""
        language = self.words.form.language
        return "" if language == ENGLISH.form.language else f" --language {language}"


def in_groups(fingerprint: str) -> str:
    """A fingerprint in groups of four, as people read it to each other."""
    return " ".join(fingerprint[at : at + 4] for at in range(0, len(fingerprint), 4))


def sheet_for(  # noqa: PLR0913  what a sheet says
    words: Words, *, laboratory: str, program: str, made_on: date, prints: Sequence[str], earlier: int
) -> Sheet:
    """A sheet in these words. prints: fingerprints in force. earlier: how many others the trust file names."""
    said = words.say("sheet/earlier_one") if earlier == 1 else words.say("sheet/earlier_many", count=earlier)
    return Sheet(
        laboratory=laboratory,
        program=program,
        made_on=words.day(made_on),
        prints=tuple(map(in_groups, prints)) or (words.say("sheet/no_print"),),
        prints_said=said if earlier else "",
        verdicts=tuple((verdict, words.word("sheet_word", verdict)) for verdict in VERDICTS),
        words=words,
    )


def render_instruction(sheet: Sheet, paper: Paper, at: datetime) -> bytes:
    """PDF bytes. at: aware."""
    from benchseal.certificate.render import page_number_rule, render_paper  # noqa: PLC0415  heavy

    margins = page_number_rule(sheet.words)
    return render_paper(TEMPLATE, STYLE, at, size=_SIZES[paper], more_style=margins, sheet=sheet)
