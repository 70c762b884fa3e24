"""Rules of the document "rules of the site" beyond its schema."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from cryptography import x509

from benchseal.documents.judge import Fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.site_rules import SiteRules


def site_rules_faults(rules: SiteRules) -> Iterator[Fault]:
    """Every rule the document breaks."""
    if rules.restore_test_days < rules.backup_days:
        what = f"a backup is to be restored every {rules.restore_test_days} days, but made every {rules.backup_days}."
        yield _fault(
            "restore_test_days", "restore-before-backup", what, "Restore as often as backups are made, or less."
        )
    quantities = [one.quantity for one in rules.typed_ranges]
    if len(set(quantities)) != len(quantities):
        what = "a quantity has two ranges."
        yield _fault("typed_ranges", "range-twice", what, "Keep one range for each quantity.")
    for one in rules.typed_ranges:
        if decimal_of(one.low) >= decimal_of(one.high):
            what = f"the range of {one.quantity} begins at {one.low} and ends at {one.high}."
            yield _fault("typed_ranges", "range-empty", what, "Write the smaller value first.")
    yield from _letter(rules)
    yield from _time_stamps(rules)
    if rules.stock_deviation_percent and decimal_of(rules.stock_deviation_percent) == 0:
        what = "two stocks never agree to 0 %."
        yield _fault("stock_deviation_percent", "deviation-zero", what, "Write what is allowed; '' compares nothing.")


def _letter(rules: SiteRules) -> Iterator[Fault]:
    """The letter about electronic signatures has a reference and a day of the calendar, or neither."""
    named, day = rules.signature_letter.strip(), rules.signature_letter_on
    if bool(named) != bool(day):
        what = "signature_letter and signature_letter_on belong together."
        yield _fault("signature_letter", "letter", what, "Give the reference and the day, or neither.")
    try:
        date.fromisoformat(day or "2000-01-01")
    except ValueError:
        what = f"{day} is no day of the calendar."
        yield _fault("signature_letter_on", "letter", what, "Write it as 2026-03-02.")


def _time_stamps(rules: SiteRules) -> Iterator[Fault]:
    """What is trusted of an authority can be read; doing without a time-stamp is for those who ask for one."""
    for number, one in enumerate(rules.time_stamps, start=1):
        try:
            found = x509.load_pem_x509_certificates(one.certificate.encode("ascii"))
        except ValueError:
            found = []
        if len(found) != 1:
            what = f"the certificate of authority {number} holds {len(found)} certificates that can be read."
            remedy = "Give one: the lines from BEGIN CERTIFICATE to END CERTIFICATE, indented."
            yield _fault("time_stamps", "stamp-certificate", what, remedy)
    urls = [one.url for one in rules.time_stamps]
    if len(set(urls)) != len(urls):
        yield _fault("time_stamps", "stamp-twice", "an authority stands there twice.", "Keep it once.")
    if rules.without_time_stamp and not rules.time_stamps:
        what = "no authority for time-stamps is named, so there is nothing to do without."
        yield _fault("without_time_stamp", "stamp-nobody", what, "Name one in time_stamps, or leave this out.")


def _fault(key: str, code: str, what: str, remedy: str) -> Fault:
    return Fault((key,), f"documents.site-rules-{code}", what, remedy)
