"""What an amendment prints otherwise than the certificate it replaces, text by text (ISO/IEC 17025:2017, 7.8.8.1).

The draft finds it, the page marks it, and ``verify`` makes the texts of now again from the evidence.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.certificate.marks import place_among, place_of
from benchseal.certificate.present import view_of
from benchseal.records.evidence import ChangedText

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.certificate.language import Words
    from benchseal.certificate.view import CertificateView, ResultRow, RunPanel
    from benchseal.records.evidence import Evidence


def changed_texts(before: Evidence, after: Evidence) -> tuple[ChangedText, ...]:
    """Every text that differs, in the order of the page; those that no longer stand come last.

    Number, date, signatures and what the laboratory's records are held by differ always and are left out.
    """
    was, now = page_of_texts(before), page_of_texts(after)
    places = dict.fromkeys((*now, *was))
    pairs = ((place, was.get(place, ""), now.get(place, "")) for place in places)
    return tuple(ChangedText(place, old, new) for place, old, new in pairs if old != new)


def page_of_texts(evidence: Evidence) -> dict[str, str]:
    """What a page says, by what it is called there. Raises ValueError where the evidence contradicts itself."""
    view = view_of(replace(evidence, changed=()), release=None, checkpoint=None, evidence_digest="", draft=True)
    found: dict[str, str] = {}
    for place, text in _texts(view):
        if text:
            found[place_among(place, found)] = text
    return found


def wrongly_marked(evidence: Evidence) -> Iterator[str]:
    """What is wrong with the marks of an amendment, as far as its own evidence tells: the texts of now, and sense."""
    now = page_of_texts(evidence)
    seen: set[str] = set()
    for change in evidence.changed:
        if change.place in seen:
            yield f"{change.place} is marked twice."
        seen.add(change.place)
        if change.after != now.get(change.place, ""):
            yield f"{change.place} is marked as {change.after!r}; the page says {now.get(change.place, '')!r}."
        if change.before == change.after:
            yield f"{change.place} is marked as changed and is not."
    kind = evidence.certificate.kind
    if (kind == "amendment") != bool(evidence.changed):
        yield f"{len(evidence.changed)} changes are marked; it is an {kind}."
    if (kind == "amendment") != bool(evidence.replaced_sha256):
        yield f"it names {'a' if evidence.replaced_sha256 else 'no'} replaced file; it is an {kind}."


def _texts(view: CertificateView) -> Iterator[tuple[str, str]]:
    item, conformity, say = view.item, view.conformity, view.words.say
    yield say("label/laboratory"), f"{view.laboratory.name}, {', '.join(view.laboratory.address)}"
    yield say("label/accreditation"), view.accreditation
    yield say("label/foot"), view.foot
    yield say("label/customer"), view.customer.name
    yield say("label/address"), ", ".join(view.customer.address)
    yield say("label/product"), item.product
    yield say("label/item"), item.description
    yield say("label/lot"), item.lot
    yield say("label/sample_number"), item.sample_number
    yield say("label/customer_sample"), item.customer_sample_id
    yield say("label/sampled"), item.sampled_on
    yield say("label/received"), item.received_on
    yield say("label/quantity_received"), item.quantity_received
    yield say("label/condition"), item.condition
    yield say("label/measured"), item.measured_on
    yield say("label/conclusion"), conformity.conclusion
    for row in view.results:
        yield place_of(row), _row(row, view.words)
    yield say("label/specification"), conformity.specification
    yield say("label/uncertainty"), view.uncertainty
    yield say("label/decision_rule"), conformity.decision_rule
    yield say("label/deviations"), view.deviations
    yield say("label/background"), view.uncorrected
    yield say("label/sampling"), item.sampling
    yield say("label/stated"), item.stated_by_customer
    yield say("label/comments"), " ".join(view.notes)
    yield say("label/opinions"), " ".join(view.opinions)
    for panel in view.runs:
        yield from _panel(panel, view.words)


def _row(row: ResultRow, words: Words) -> str:
    """A line of the results, without the names of what was determined."""
    parts = (row.phrase, words.say("changed/limit", limit=row.limit), row.rule, row.verdict, row.method, row.detail)
    return ", ".join(part for part in parts if part)


def _panel(panel: RunPanel, words: Words) -> Iterator[tuple[str, str]]:
    yield f"{panel.heading}, {words.say('label/calibration')}", f"{panel.run}: {panel.fit_line}"
    for line in panel.checks:
        texts = (line.found, line.limits, line.verdict)
        yield f"{panel.heading}, {line.check}", ", ".join(text for text in texts if text)
