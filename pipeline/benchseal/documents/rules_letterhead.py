"""Rules of the letterhead beyond its schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault
from benchseal.pictures.logo import logo_problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.letterhead import Letterhead


def letterhead_faults(letterhead: Letterhead) -> Iterator[Fault]:
    """Every rule the document breaks."""
    logo = letterhead.logo
    what = logo_problem(logo.kind, logo.data, logo.width_mm)
    if what:
        remedy = "Draw it anew with plain shapes, or save it smaller; the manual says what is taken."
        yield Fault(("logo", "data"), "documents.letterhead-logo", what, remedy)
    if logo.kind != "none" and not logo.words.strip():
        what = "the logo has no words for those who cannot see it."
        yield Fault(("logo", "words"), "documents.letterhead-words", what, "Say what it shows.")
    languages = [one.language for one in letterhead.words]
    if len(set(languages)) != len(languages):
        what = "a language has words twice."
        yield Fault(("words",), "documents.letterhead-language", what, "Keep one entry for each language.")
    if not any(line.strip() for line in letterhead.address.splitlines()):
        what = "the address is empty."
        yield Fault(("address",), "documents.letterhead-address", what, "Write it as certificates are to print it.")
