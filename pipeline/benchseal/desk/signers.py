"""Those who sign a certificate, and whether its page can hold their names."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.certificate.complete import misread, unprintable
from benchseal.desk.reading import read_signature
from benchseal.problems import Stopped
from benchseal.records.shape import record_digest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from benchseal.problems import Problem
    from benchseal.records.evidence import Evidence
    from benchseal.records.signatures import Signature
    from benchseal.store.protocol import Reading


def signatures_of_packets(view: Reading, content: Evidence) -> list[Signature]:
    """Signatures performed and reviewed on the packets of a certificate's runs."""
    packets = {record_digest(packet) for packet in content.packets}
    return [read_signature(row) for packet in sorted(packets) for row in view.rows("signature", digest=packet)]


def unprintable_names(names: Iterable[str]) -> Iterator[Problem]:
    """What keeps printed names from the page of a certificate, beside a signature."""
    for name in dict.fromkeys(names):
        yield from unprintable("printed name", name)
        yield from misread("printed name", name)


def require_signers_printable(signatures: Iterable[Signature]) -> None:
    """Somebody enrolled before names were looked at signs no certificate that could not be sealed. Raises Stopped."""
    if found := tuple(unprintable_names(one.statement.printed_name for one in signatures)):
        remedy = (
            "Nothing was signed. Enrol the person anew, under another identifier and a name that can be printed. A run "
            "they signed is returned or opened again (`benchseal run return`, `run reopen`), and signed anew."
        )
        raise Stopped(*(replace(one, remedy=remedy) for one in found))
