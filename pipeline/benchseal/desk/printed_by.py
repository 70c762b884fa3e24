"""What a certificate is printed by: the customer's form, the laboratory's letterhead and template, as in force.

Where a site never had such a document, a certificate has the form every certificate had before. Where it had one and
none is in force, nothing is drafted: what the page would then say nobody decided.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.documents.printed_forms import Unprintable, printed_form
from benchseal.problems import Finding, Refusal, Stopped
from benchseal.records.certificate_form import CertificateForm
from benchseal.records.certificate_template import TEMPLATE_ID, CertificateTemplate
from benchseal.records.letterhead import LETTERHEAD_ID, Letterhead
from benchseal.records.printed_form import USUAL_FORM, PrintedForm
from benchseal.records.registers import Customer
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.evidence import Evidence
    from benchseal.records.printed_form import Language
    from benchseal.store.protocol import Reading, Row

_ENDED = frozenset({"superseded", "withdrawn"})


@dataclass(frozen=True, slots=True)
class PrintedBy:
    """The form of a page with its document, letterhead and template with their own; none where there is none."""

    form: PrintedForm = USUAL_FORM
    form_ref: tuple[DocumentRef, ...] = ()
    letterhead: tuple[Letterhead, ...] = ()
    letterhead_ref: tuple[DocumentRef, ...] = ()
    template: tuple[CertificateTemplate, ...] = ()
    template_ref: tuple[DocumentRef, ...] = ()


def printed_by(view: Reading, customer: str, before: Evidence | None) -> PrintedBy:
    """For a new certificate of a customer. Raises Stopped.

    before: of an amendment, the evidence of the certificate it replaces: it is printed in that one's form, so that
    what differs is what was changed.
    """
    form, form_ref = _form(view, customer) if before is None else (before.form, before.form_ref)
    by = replace(_by_template(view), form=form, form_ref=form_ref)
    row = _letterhead(view)
    if row is None:
        return by
    letterhead = load(view, Letterhead, row["value"])
    _require_language(letterhead, form.language)
    return replace(by, letterhead=(letterhead,), letterhead_ref=(_ref(row),))


def _by_template(view: Reading) -> PrintedBy:
    row = _template(view)
    if row is None:
        return PrintedBy()
    return PrintedBy(template=(load(view, CertificateTemplate, row["value"]),), template_ref=(_ref(row),))


def template_in_force(view: Reading) -> tuple[CertificateTemplate, ...]:
    """The laboratory's own template; none where there is none, or none any more."""
    with suppress(Stopped):
        return _by_template(view).template
    return ()


def require_template_unchanged(view: Reading, content: Evidence) -> None:
    """Before a certificate is signed: its template is still the one in force. Raises Stopped."""
    row = _template(view)
    if (() if row is None else (_ref(row),)) != content.template_ref:
        what = "another template is in force than when it was drafted."
        remedy = "Discard this draft and draft it again."
        raise Stopped(Finding("certificate.template-changed", content.certificate.number, what, remedy))


def require_letterhead_unchanged(view: Reading, content: Evidence) -> None:
    """Before a certificate is signed: its letterhead is still the one in force. Raises Stopped."""
    row = _letterhead(view)
    now = () if row is None else (_ref(row),)
    if now != content.letterhead_ref:
        what = "another letterhead is in force than when it was drafted."
        remedy = "Discard this draft and draft it again."
        raise Stopped(Finding("certificate.letterhead-changed", content.certificate.number, what, remedy))


def require_customer_unchanged(view: Reading, content: Evidence) -> None:
    """Before a certificate is signed: name and address are still those on record. Raises Stopped."""
    printed = content.certificate.customer
    row = view.row("customer", customer=printed.customer)
    now = load(view, Customer, row["record"]) if row else None
    if now is None or (now.name, now.address) != (printed.name, printed.address):
        what = f"name or address of customer {printed.customer} changed since it was drafted."
        remedy = "Discard this draft and draft it again."
        raise Stopped(Finding("certificate.customer-changed", content.certificate.number, what, remedy))


def form_refusals(view: Reading, row: Row) -> list[Refusal]:
    """Why a customer's form cannot be put in force: nobody it is for, or that customer has another."""
    form, where = load(view, CertificateForm, row["value"]), f"certificate_form {row['id']}"
    refusals = []
    if view.row("customer", customer=form.customer) is None:
        what = f"its customer {form.customer} is not registered."
        remedy = "Add the customer with `benchseal recipient add`, then approve."
        refusals.append(Refusal("certificate-form.customer-unknown", where, what, remedy))
    for other in _forms_of(view, form.customer):
        if other["state"] in {"approved", "waiting"} and other["id"] != row["id"]:
            what = f"customer {form.customer} has the form {other['id']}, which is {other['state']}."
            remedy = f"Bring this in as a new version of {other['id']}, or withdraw that one."
            refusals.append(Refusal("certificate-form.customer-twice", where, what, remedy))
    return refusals


def _form(view: Reading, customer: str) -> tuple[PrintedForm, tuple[DocumentRef, ...]]:
    rows = _forms_of(view, customer)
    row = next((one for one in rows if one["state"] == "approved"), None)
    if row is None:
        _require_never_had(rows, "certificate.form-none", f"customer {customer}", "a certificate form of this customer")
        return USUAL_FORM, ()
    found = printed_form(load(view, CertificateForm, row["value"]))
    if isinstance(found, Unprintable):
        remedy = "Bring in a new version of it with another locale, and have it approved."
        raise Stopped(Refusal("certificate.form-locale", f"certificate_form {row['id']}", found.why, remedy))
    return found, (_ref(row),)


def _forms_of(view: Reading, customer: str) -> list[Row]:
    rows = view.rows("document", kind="certificate_form")
    return [row for row in rows if load(view, CertificateForm, row["value"]).customer == customer]


def _letterhead(view: Reading) -> Row | None:
    rows = view.rows("document", kind="letterhead", id=LETTERHEAD_ID)
    row = next((one for one in rows if one["state"] == "approved"), None)
    if row is None:
        _require_never_had(rows, "certificate.letterhead-none", "letterhead", "a letterhead")
    return row


def _template(view: Reading) -> Row | None:
    rows = view.rows("document", kind="certificate_template", id=TEMPLATE_ID)
    row = next((one for one in rows if one["state"] == "approved"), None)
    if row is None:
        _require_never_had(rows, "certificate.template-none", "certificate_template", "a template of certificates")
    return row


def _require_never_had(rows: Sequence[Row], code: str, where: str, named: str) -> None:
    if any(row["state"] in _ENDED for row in rows):
        what = f"{named} was in force and is not any more; none has taken its place."
        remedy = "A quality approver approves one with `benchseal document approve`."
        raise Stopped(Refusal(code, where, what, remedy))


def _require_language(letterhead: Letterhead, language: Language) -> None:
    if letterhead.words and language not in {one.language for one in letterhead.words}:
        what = f"it has words, but none in {language!r}, the language of the certificate."
        remedy = "Bring in a version with words in that language, and have it approved."
        raise Stopped(Refusal("certificate.letterhead-language", "letterhead", what, remedy))


def _ref(row: Row) -> DocumentRef:
    return DocumentRef(row["id"], int(row["version"]), row["value"])
