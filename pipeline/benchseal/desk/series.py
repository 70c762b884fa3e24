"""A later certificate and those it names: what must hold when it is signed, and what its release does to them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.desk.acting import PROGRAM
from benchseal.desk.asked import replacing
from benchseal.desk.runs import require_reason
from benchseal.export.cells import is_risky
from benchseal.problems import Finding, Problem, Refusal, Stopped
from benchseal.review.cycles import CERTIFICATE, decide
from benchseal.review.duty import Situation

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.records.evidence import Evidence
    from benchseal.store.protocol import Reading, Row

LONGEST_REASON: Final = 1000


def reason_told(text: str, command: str) -> str:
    """The reason in one line, as pages print it and receivers' files carry it. Raises Stopped for one that cannot be.

    It is signed: nobody could put it right later, and one row that cannot be written keeps back a whole delivery.
    """
    require_reason(text, command)
    line = " ".join(text.split())
    faults = (
        (len(line) > LONGEST_REASON, f"it has {len(line)} characters; at most {LONGEST_REASON} are told to receivers."),
        (not line.isprintable(), "it holds a sign that cannot be printed."),
        (is_risky(line), f"it begins like a formula ({line[:1]}), which spreadsheets of receivers would run."),
    )
    if wrong := [Problem("certificate.reason", command, what, "Say it in plain words.") for bad, what in faults if bad]:
        raise Stopped(*wrong)
    return line


def require_series(view: Reading, content: Evidence) -> None:
    """Before it is signed: what it replaces and stands beside still is what it names. Raises Stopped."""
    facts = content.certificate
    named = [(number, {"released"}) for number in facts.others]
    if facts.replaces:
        named.append((facts.replaces, {"released", "withdrawn"}))
    for number, states in named:
        row = view.row("certificate", number=number)
        by = [one["number"] for one in replacing(view, row)] if row else []
        if row is None or by or row["state"] not in states or not _same_file(row, content):
            replaced = f", replaced by {by[-1]}" if by else ""
            what = f"{number}, which it names, is {row['state'] if row else 'unknown'} now{replaced}."
            remedy = "Discard this draft and draft it again."
            raise Stopped(Finding("certificate.series-changed", facts.number, what, remedy))


def supersede(acting: Acting, by: str, replaced: str) -> bool:
    """Put on record that ``by``, released a moment ago, replaces an issued certificate; a withdrawn one stays so."""
    row = acting.tx.row("certificate", number=replaced)
    if row is None:
        raise AssertionError("an amendment replaces a certificate on record")
    situation = Situation(f"certificate {replaced}", row["state"])
    if isinstance(decide(CERTIFICATE, "supersede", situation, PROGRAM), Refusal):
        return False
    acting.write("certificate.superseded", f"certificate/{replaced}", facts={"by": by})
    return True


def _same_file(row: Row, content: Evidence) -> bool:
    return bool(row["number"] != content.certificate.replaces or row["sealed"] == content.replaced_sha256)
