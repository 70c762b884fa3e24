"""Whether a view may be printed: nothing mandatory missing, and every character in the shipped type.

The clauses are those of ISO/IEC 17025:2017, 7.8 (letters from secondary sources; 7.8.3.1 c from memory).
"""

from __future__ import annotations

import unicodedata
from dataclasses import fields, is_dataclass
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Final

from benchseal import shipped
from benchseal.certificate.due import where_put
from benchseal.certificate.view import CertificateView, standing_cautions
from benchseal.pictures.logo import logo_problem
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

FONT_FILES: Final = ("fonts/SourceSans3-Regular.ttf", "fonts/SourceSans3-SemiBold.ttf")
EVEN_WIDTH: Final = "fonts/SourceCodePro-Regular.ttf"  # of worked calculations in reports; on no certificate

# Characters the type can print that a page would not tell from others, and why. Found by drawing every printable one,
# beside letters, figures and itself, in both weights, and holding the page to its own check.
_FRACTION_SLASH: Final = "\N{FRACTION SLASH}"
MISREAD: Final = {
    "\N{LATIN SMALL LIGATURE FF}": "the certificate's type has one sign for it and for two letters f",
    _FRACTION_SLASH: "the certificate's type draws figures beside it as other, smaller ones",
    "\N{HOT BEVERAGE}": "the certificate's type draws it in a way that is not read back",
}

_MOST_NAMED: Final = 3

# Path of a field -> the clause that wants it. Rows are checked one by one ("results.value").
_MANDATORY: Final = {
    "title": "7.8.2.1 a",
    "laboratory.name": "7.8.2.1 b",
    "laboratory.address": "7.8.2.1 b",
    "laboratory.where_done": "7.8.2.1 c",
    "number": "7.8.2.1 d",
    "customer.name": "7.8.2.1 e",
    "customer.address": "7.8.2.1 e",
    "results.method": "7.8.2.1 f",
    "item.description": "7.8.2.1 g",
    "item.product": "7.8.2.1 g",
    "item.lot": "7.8.2.1 g",
    "item.sample_number": "7.8.2.1 g",
    "item.customer_sample_id": "7.8.2.1 g",
    "item.received_on": "7.8.2.1 h",
    "item.quantity_received": "7.8.2.1 h",
    "item.measured_on": "7.8.2.1 i",
    "issued_on": "7.8.2.1 j",
    "item.sampling": "7.8.2.1 k",
    "item.stated_by_customer": "7.8.2.2",
    "results": "7.8.2.1 m",
    "results.substance": "7.8.2.1 m",
    "results.quantity": "7.8.2.1 m",
    "results.value": "7.8.2.1 m",
    "results.unit": "7.8.2.1 m",
    "results.limit": "7.8.2.1 m",
    "deviations": "7.8.2.1 n",
    "signatures": "7.8.2.1 o",
    "signatures.name": "7.8.2.1 o",
    "signatures.role": "7.8.2.1 o",
    "signatures.meaning": "7.8.2.1 o",
    "signatures.at": "7.8.2.1 o",
    "signatures.digest_start": "7.8.2.1 o",
    "conformity.conclusion": "7.8.6.2 a",
    "results.verdict": "7.8.6.2 a",
    "conformity.specification": "7.8.6.2 b",
    "conformity.decision_rule": "7.8.6.2 c",
    "results.rule": "7.8.6.2 c",
    "uncertainty": "7.8.3.1 c",
    "runs": "own rule",
    "runs.heading": "own rule",
    "runs.run": "own rule",
    "runs.fit_line": "own rule",
    "runs.checks": "own rule",
    "provenance.ledger_id": "own rule",
    "provenance.ledger_size": "own rule",
    "provenance.ledger_root_start": "own rule",
    "provenance.evidence_digest": "own rule",
    "provenance.program": "own rule",
    "provenance.calculation_rules": "own rule",
}
_NOT_YET_ON_A_DRAFT: Final = frozenset(
    {"issued_on", "signatures"}
    | {"provenance.evidence_digest"}
    | {path for path in _MANDATORY if path.startswith(("signatures.", "provenance.ledger_"))}
)
_CAUTIONS: Final = ("7.8.2.1 l", "7.8.2.1 note", "own rule")  # in the order of ``standing_cautions``


_NOT_ON_SIMPLIFIED: Final = frozenset({"runs"})


def view_problems(view: CertificateView) -> tuple[Problem, ...]:
    """Everything that keeps ``view`` from being printed, all at once."""
    return (*_empty_fields(view), *_paired_fields(view), *_cautions(view), *_characters(view), *_logo(view))


def _empty_fields(view: CertificateView) -> Iterator[Problem]:
    for path, clause in _MANDATORY.items():
        if view.unsealed_mark and path in _NOT_YET_ON_A_DRAFT:
            continue
        if view.simplified and path in _NOT_ON_SIMPLIFIED:
            continue
        for place, value in _values(view, path):
            if _is_empty(value):
                yield Problem(
                    code="certificate.field-empty",
                    where=place,
                    what=f"A certificate must state this (ISO/IEC 17025 {clause}); it is empty."
                    if clause != "own rule"
                    else "A certificate must state this; it is empty.",
                    remedy=where_put(path),
                )


def _is_empty(value: object) -> bool:
    if isinstance(value, str):
        return not value.strip()
    return isinstance(value, tuple) and (not value or any(_is_empty(part) for part in value))


def _values(view: object, path: str) -> Iterator[tuple[str, object]]:
    """The values at ``path``; where a tuple of records lies on the way, the value in each of them."""
    head, _, rest = path.partition(".")
    value = getattr(view, head)
    if not rest:
        yield head, value
    elif isinstance(value, tuple):
        for number, part in enumerate(value, start=1):
            yield f"{head} {number}, {rest}", getattr(part, rest)
    else:
        yield path, getattr(value, rest)


def _paired_fields(view: CertificateView) -> Iterator[Problem]:
    """What must hold between fields."""
    for number, row in enumerate(view.results, start=1):
        if row.expanded and not row.coverage.strip():
            yield Problem(
                code="certificate.coverage-missing",
                where=f"results {number}",
                what=f"The uncertainty {row.expanded} has no coverage factor.",
                remedy="Give the coverage factor with the uncertainty.",
            )
    if view.relation and not (view.relation.words.strip() and view.relation.earlier_number.strip()):
        yield Problem(
            code="certificate.field-empty",
            where="relation",
            what="An amendment or supplement must name the earlier certificate and say why (ISO/IEC 17025 7.8.8).",
            remedy=where_put("relation"),
        )
    if view.relation and view.relation.earlier_number not in view.relation.words:
        yield Problem(
            code="certificate.relation-unnamed",
            where="relation",
            what=f"The sentence does not name certificate {view.relation.earlier_number}.",
            remedy="Name the earlier certificate in the sentence.",
        )


def _cautions(view: CertificateView) -> Iterator[Problem]:
    for sentence, clause in zip(standing_cautions(view.words), _CAUTIONS, strict=True):
        if sentence not in view.limits_and_cautions:
            yield Problem(
                code="certificate.caution-missing",
                where="limits_and_cautions",
                what=f"The sentence {sentence!r} is missing ({clause}).",
                remedy="Add the standing cautions.",
            )


def _characters(view: CertificateView) -> Iterator[Problem]:
    for place, text in _texts(view, ""):
        yield from unprintable(place, text)


def unprintable(place: str, text: str) -> Iterator[Problem]:
    """That the shipped type cannot print characters of a text, the first of them named. place: where it stands."""
    found = [character for character in dict.fromkeys(text) if not printable(character)]
    if found:
        named = [f"U+{ord(one):04X} ({unicodedata.name(one, 'no name')})" for one in found[:_MOST_NAMED]]
        more = [f"{len(found) - _MOST_NAMED} more"] if len(found) > _MOST_NAMED else []
        yield Problem(
            code="certificate.character-unprintable",
            where=place,
            what=f"{text!r} holds {', '.join([*named, *more])}, which the certificate's type cannot print.",
            remedy="Write it with characters of Latin, Greek or Cyrillic script, or as words.",
        )


def misread_texts(view: CertificateView) -> Iterator[Problem]:
    """Of a certificate not issued yet: each character of its texts that would be drawn as others, or read as others."""
    for place, text in _texts(view, ""):
        yield from misread(place, text)


def misread(place: str, text: str) -> Iterator[Problem]:
    """Each character of a text that has no sign of its own in the shipped type, once. place: where the text stands."""
    for character in dict.fromkeys(text):
        if character in MISREAD:
            name = unicodedata.name(character, "no name")
            yield Problem(
                code="certificate.character-misread",
                where=place,
                what=f"{text!r} holds U+{ord(character):04X} ({name}): {MISREAD[character]}.",
                remedy=_instead(character),
            )


def _instead(character: str) -> str:
    if character == _FRACTION_SLASH:
        return "Write it with / (U+002F), or as a decimal number."
    plain = unicodedata.normalize("NFKC", character)
    return f"Write it as {plain!r}." if plain != character else "Write it as a word."


def _logo(view: CertificateView) -> Iterator[Problem]:
    """The rules of the document looked at it; evidence from elsewhere may hold anything."""
    what = logo_problem(view.logo.kind, view.logo.data, view.logo.width_mm) if view.logo else ""
    if what:
        remedy = "Have a letterhead approved with a logo that is taken, and draft the certificate again."
        yield Problem(code="certificate.logo-unfit", where="logo", what=what, remedy=remedy)


def printed_texts(view: CertificateView) -> Iterator[tuple[str, str]]:
    """Every text of a view that is not empty, with its place: ``item, lot``."""
    return ((place, text) for place, text in _texts(view, "") if text.strip())


def _texts(value: object, place: str) -> Iterator[tuple[str, str]]:
    """Every string below ``value`` with its place."""
    if isinstance(value, str):
        yield place, value
    elif isinstance(value, tuple):
        for number, part in enumerate(value, start=1):
            yield from _texts(part, f"{place} {number}".strip())
    elif is_dataclass(value):
        for field in fields(value):
            if field.name == "logo":  # drawn, not printed; the document's rules look at it
                continue
            yield from _texts(getattr(value, field.name), f"{place}, {field.name}".lstrip(", "))


def printable(character: str) -> bool:
    """Whether both weights have a glyph for ``character`` and it is neither a control nor an invisible one."""
    return character == " " or (
        unicodedata.category(character)[0] not in "CM"
        and unicodedata.category(character) not in ("Zl", "Zp")
        and ord(character) in shipped_characters()
    )


@cache
def shipped_characters() -> frozenset[int]:
    """The code points that every shipped weight can print."""
    from fontTools.ttLib import TTFont  # noqa: PLC0415  heavy, and only needed once a certificate is printed

    sets = [frozenset(TTFont(BytesIO(shipped.template_bytes(name)), lazy=True).getBestCmap()) for name in FONT_FILES]
    return frozenset.intersection(*sets)
