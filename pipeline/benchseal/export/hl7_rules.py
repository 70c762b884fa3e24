"""Which words a profile of HL7 messages has, and codes that would mislead."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.export.cells import Fault
from benchseal.export.hl7_text import LONGEST_CODE, LONGEST_ST, escaped

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.profile import Hl7, Hl7Code, Profile

_LOINC: Final = "LN"  # table 0396


def hl7_faults(profile: Profile) -> Iterator[tuple[str, Fault]]:
    """Every fault of the words ``hl7`` and of those that do not go with it, each with its place in the profile."""
    if profile.columns:
        what = "messages have fields of their own, and no columns."
        yield "columns", Fault("profile.columns-unfit", what, "Leave columns out.")
    if profile.one_row_per != "result":
        what = f"a message holds each result by itself, and one_row_per is {profile.one_row_per}."
        yield "one_row_per", Fault("profile.rows-unfit", what, "Leave one_row_per out.")
    if profile.risky_text != "keep":
        what = f"risky_text is {profile.risky_text}, and no spreadsheet opens messages."
        yield "risky_text", Fault("profile.risky-text-unfit", what, "Say risky_text: keep.")
    if profile.hl7 is None:
        yield "", Fault("profile.hl7-missing", "a hl7_v2 file needs the words hl7.", "Add hl7.")
        return
    yield from (("hl7", fault) for fault in _texts(profile.hl7))
    yield from (("hl7, codes", fault) for fault in _codes(profile.hl7))


def key(code: Hl7Code) -> tuple[object, ...]:
    """What a code is for; of a sum the order of its elements is nothing."""
    return (*_measurand(code), code.unit, code.product)


def _measurand(code: Hl7Code) -> tuple[object, ...]:
    elements = " ".join(sorted(code.element.split()))
    return (elements, code.quantity, code.fraction, code.basis, code.expressed_as, code.sum_bound)


def _texts(words: Hl7) -> Iterator[Fault]:
    named = (words.sending_application, words.sending_facility, words.receiving_application, words.receiving_facility)
    codes, panel = words.codes, words.panel
    short = (panel.code, panel.system, *(text for one in codes for text in (one.code, one.system, one.unit)))
    lengths = [(text, LONGEST_CODE) for text in (*named, *short)]
    lengths += [
        (text, LONGEST_ST) for text in (panel.name, *(text for one in codes for text in (one.name, one.product)))
    ]
    for text, longest in dict.fromkeys(lengths):
        if not text.isprintable():
            yield Fault("profile.text-not-printable", f"{text!r} does not print.", "Use printable characters.")
        if (long := len(escaped(text))) > longest:
            what = f"{text!r} has {long} characters with its escapes, and HL7 takes {longest} here."
            yield Fault("profile.hl7-text-too-long", what, "Leave out some of | ^ ~ & and \\, or shorten it.")


def _codes(words: Hl7) -> Iterator[Fault]:
    """Two codes for one result leave open which is meant; one code for two hides what only the code would tell."""
    keys = [key(code) for code in words.codes]
    for one in sorted({str(of) for of in keys if keys.count(of) > 1}):
        yield Fault("profile.hl7-code-twice", f"two codes are for {one}.", "Keep one of them.")
    meant: dict[tuple[str, str], set[tuple[object, ...]]] = {}
    for code in words.codes:
        meant.setdefault((code.code, code.system), set()).add(_measurand(code))
    for (text, system), of in meant.items():
        if len(of) > 1:
            what = f"{text} of {system} is given to {len(of)} results that differ in more than their unit or product."
            yield Fault("profile.hl7-code-shared", what, "Give each its own code.")
    for code in words.codes:
        if code.system == _LOINC and not code.product:
            what = f"{code.code} is a LOINC code, which is of one kind of specimen, and is given to every product."
            yield Fault("profile.hl7-product-missing", what, "Say product, once for each product the code is for.")
        if bool(code.sum_bound) != (" " in code.element):
            what = f"{code.code} is for {code.element!r} and its sum_bound is {code.sum_bound!r}."
            yield Fault("profile.hl7-sum-unfit", what, "Give sum_bound exactly to a sum of several elements.")
