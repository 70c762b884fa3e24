"""Rules of a customer's certificate form beyond its schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault
from benchseal.documents.printed_forms import Unprintable, printed_form
from benchseal.records.elements import SYMBOLS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.certificate_form import CertificateForm


def certificate_form_faults(form: CertificateForm) -> Iterator[Fault]:
    """Every rule the document breaks."""
    found = printed_form(form)
    if isinstance(found, Unprintable):
        remedy = "Name another locale, or write thousands: none and dates: iso."
        yield Fault((found.key,), "documents.certificate-form-locale", found.why, remedy)
    for place, symbol in enumerate(form.order):
        if symbol not in SYMBOLS:
            what = f"{symbol} is no element."
            yield Fault(("order", place), "documents.certificate-form-element", what, "Write its symbol: Pb.")
        elif symbol in form.order[:place]:
            what = f"{symbol} stands twice."
            yield Fault(("order", place), "documents.certificate-form-twice", what, "Name each element once.")
