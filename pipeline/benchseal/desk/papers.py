"""Certificates written out: a draft marked as such, a numbered paper copy, and who wrote out what."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.language import Words
from benchseal.certificate.present import view_of
from benchseal.desk.acting import Receipt
from benchseal.desk.asked import replacing
from benchseal.desk.clock import moment_of
from benchseal.desk.read_log import log_lines
from benchseal.desk.reading import load
from benchseal.desk.recipients import issued_row, one_line
from benchseal.desk.renderer import rendered
from benchseal.problems import Refusal, Stopped
from benchseal.records.evidence import Evidence

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import PrintCertificate
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row

_BEFORE_RELEASE = frozenset({"draft", "approved", "sealing"})
_SHOW = "certificate show"


def draft_pdf(view: Reading, site: Site, row: Row) -> bytes:
    """A certificate before its release, marked DRAFT on every page, with nothing attached. Raises Stopped."""
    from benchseal.certificate.render import render  # noqa: PLC0415  heavy: only a paper needs it

    if row["state"] not in _BEFORE_RELEASE:
        what = f"it is {row['state']}; there is no file of it."
        raise Stopped(Refusal("certificate.not-issued", row["number"], what, "Draft the lot's certificate again."))
    content = load(view, Evidence, row["content"])
    page = view_of(content, release=None, checkpoint=None, evidence_digest="", draft=True)
    return rendered(render, page, (), site.clock(), content.certificate.paper, content.template)


def print_certificate(acting: Acting, act: PrintCertificate) -> Receipt:
    """Number a paper copy and put on record for whom it is. Raises Stopped for a certificate that is not issued."""
    from benchseal.certificate.paper_copy import LONGEST_TO, CopyMark, mark_problems  # noqa: PLC0415

    to, reason = one_line(act.to, "--to", LONGEST_TO), one_line(act.reason, "--reason")
    row = issued_row(acting.tx, act.number)
    if problems := mark_problems(CopyMark(act.number, 1, to)):
        raise Stopped(*problems)
    count = acting.count(f"copy/{act.number}")
    acting.write(
        "certificate.copied",
        f"certificate/{act.number}",
        facts={"count": count, "to": to, "state": row["state"], "sealed": row["sealed"]},
        reason=reason,
    )
    passed = (f"It is {row['state']}, and each page says so.",) if row["state"] != "released" else ()
    said = (f"Paper copy {count} of {act.number} is for {to}.", *passed)
    return Receipt(said, {"number": act.number, "copy": count, "to": to})


def copy_pdf(view: Reading, number: str, copy: int) -> bytes:
    """The file to print for a paper copy on record; the same bytes each time while the certificate stands as it did."""
    from benchseal.certificate.paper_copy import CopyMark, paper_copy  # noqa: PLC0415  heavy

    row, one = issued_row(view, number), view.row("certificate_copy", number=number, copy=f"{copy:04d}")
    if one is None:
        what = f"paper copy {copy} is not on record."
        raise Stopped(Refusal("certificate.copy-unknown", number, what, "See `benchseal certificate show`."))
    person = view.row("person", person=one["person"])
    founded = view.rows("site")[0]
    by = person["printed_name"] if person else one["person"]
    language = load(view, Evidence, row["evidence"]).form.language
    printed_at = Words.in_language(language).signed_at(one["at"], founded["zone"])
    replaced_by = _replaced_by(view, row)
    mark = CopyMark(number, copy, one["given_to"], printed_at, by, row["state"], replaced_by, language)
    return rendered(paper_copy, view.bytes_of(row["unsealed"]), mark, moment_of(one["at"]))


def _replaced_by(view: Reading, row: Row) -> str:
    by = [] if row["state"] == "released" else [one["number"] for one in replacing(view, row)]
    return str(by[-1]) if by else ""


def copies_of(view: Reading, number: str) -> list[Row]:
    """Paper copies in the order of their numbers."""
    return sorted(view.rows("certificate_copy", number=number), key=lambda row: row["copy"])


def files_written(view: Reading, site: Site, number: str) -> Iterator[dict[str, str]]:
    """Each time somebody had the file of a certificate written out, from the log of reads: who, when, into what."""
    for line in log_lines(view, site):
        read = line.read
        if read is None or read.command != _SHOW or f"number={number}" not in read.asked:
            continue
        for asked in read.asked:
            if asked.startswith("pdf="):
                yield {"person": read.person, "at": read.at, "file": asked.removeprefix("pdf=")}
