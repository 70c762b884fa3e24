"""Whose time-stamps a site asks for, by its rules in force; and whom it ever asked, for whoever checks older files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from benchseal.certificate.time_stamp import Authority
from benchseal.desk.reading import load
from benchseal.records.site_rules import RULES_ID, SiteRules

if TYPE_CHECKING:
    from benchseal.records.site_rules import TimeStampRule
    from benchseal.store.protocol import Reading

_EVER_IN_FORCE = frozenset({"approved", "superseded", "withdrawn"})


def authority_of(rule: TimeStampRule) -> Authority:
    """What is trusted of the authority a rule names."""
    certificate = x509.load_pem_x509_certificate(rule.certificate.encode("ascii"))
    return Authority(certificate.public_bytes(Encoding.DER), rule.policy)


def authorities(view: Reading) -> tuple[Authority, ...]:
    """Of every version of the rules that was ever in force, each once, oldest first."""
    rows = [row for row in view.rows("document", kind="site_rules", id=RULES_ID) if row["state"] in _EVER_IN_FORCE]
    found = {
        authority_of(rule): None
        for row in sorted(rows, key=lambda row: int(row["version"]))
        for rule in load(view, SiteRules, row["value"]).time_stamps
    }
    return tuple(found)
