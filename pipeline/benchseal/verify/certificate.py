"""The outside check of a sealed certificate: bytes and trust in, one word and its reasons out.

The order is that of trust: the seal over the whole file; the key that made it; the two files inside; documents,
readings and results against the digests that were signed; the people who signed; the ledger that holds their
signatures; then the calculation again from the readings; and last the page against all of it.

ALTERED: something is false (a broken seal, a digest that does not fit, a value its readings do not give).
UNKNOWN: nothing is false, but something cannot be decided: no seal, no trust file, a key the trust file does not hold,
rules or a schema of another version. A file sealed by a stranger is UNKNOWN, not ALTERED: it may be exactly what that
stranger made. Everything else is GENUINE.

Limits. The words of a page are compared, and that they are seen; not the shapes of their letters, unless the page is
drawn again. A laboratory that forges its own readings before they are signed is not found out here; nor is anything
that was superseded or withdrawn after the file was sealed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.certificate.read_pdf import CODES_UNKNOWN, SealedPdf, open_certificate
from benchseal.pictures.rosette import rosette
from benchseal.records.canonical import digest
from benchseal.verify.contents import Look, belongs, case_of, look_at, read_contents, rules_known
from benchseal.verify.held import checkpoint, entries
from benchseal.verify.language import language, language_words
from benchseal.verify.notice import notice_report, size_of
from benchseal.verify.page import answers, changes, nothing_else, nothing_else_words, rows, wording, wording_words
from benchseal.verify.parts import documents, manifests, readings
from benchseal.verify.people import separate, separate_words, signatures
from benchseal.verify.recompute import recalculation
from benchseal.verify.redraw import drawn_again
from benchseal.verify.report import Check, Report
from benchseal.verify.sealing_key import sealed_after, sealing_key, time_stamp

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from benchseal.problems import Finding
    from benchseal.records.evidence import Evidence, Supplement
    from benchseal.verify.contents import Case
    from benchseal.verify.trust import Trust

LOOKS: Final = (
    Look("supplement of this evidence", belongs, lambda _: "its release and proofs belong to this evidence."),
    Look("calculation rules", rules_known, lambda case: f"rules {case.evidence.calculation_rules}, as here."),
    Look("documents", documents, lambda case: f"{_methods(case)} and the specification are the versions named."),
    Look("readings", readings, lambda case: f"{_shown(case)} solutions stand in the trees that were signed."),
    Look("manifests", manifests, lambda _: "calibrations, checks and results are those that were signed."),
    Look(
        "results asked for", answers, lambda _: "every line of the specification has its result; the conclusion fits."
    ),
    Look("signatures", signatures, lambda case: f"{len(case.evidence.signatures) + 1} signatures fit what they sign."),
    Look("separate people", separate, separate_words),
    Look(
        "ledger entries", entries, lambda case: f"{len(case.supplement.entries)} entries hold all signatures, in order."
    ),
    Look("checkpoint", checkpoint, lambda case: f"a trusted key signed the head at {case.supplement.checkpoint.at}."),
    Look("recalculation", recalculation, lambda case: f"{_results(case)} come out again from the readings."),
    Look("printed language", language, language_words),
    Look("printed rows", rows, lambda case: f"{_results(case)} stand on the page as calculated."),
    Look("printed words", wording, wording_words),
    Look("marked changes", changes, lambda case: _changes(case.evidence)),
)
_NAMES: Final = {"seal.attachments": "attachments", "seal.page-form": "page form"}

_SEAL_HOLDS: Final = Check("seal", holds=True, said="it covers the whole file, holds, and permits no change.")
_NOTICE_ATTACHED: Final = Check("attachments", holds=True, said="exactly notice.json and proof.json.")
_PAGE_FORM: Final = Check(
    "page form", holds=True, said="nothing on a page is hidden, covered, or acts when it is opened."
)


def verify_certificate(pdf: bytes, trust: Trust | None, *, redraw: bool = False) -> Report:
    """Check one certificate, or one notice of withdrawal. Whatever is in it, the answer is a report.

    redraw: draw the page of a certificate again too (``redraw``).
    """
    pinned, authorities = (trust.fingerprints, trust.authorities) if trust else (frozenset[str](), ())
    opened = open_certificate(pdf, pinned, authorities, files=None)
    if not isinstance(opened, SealedPdf):
        return Report(tuple(_unopened(opened, trust)), sealed_sha256=digest(pdf))
    if trust is None:
        raise AssertionError("a seal was trusted although nothing is")
    if opened.is_notice:
        key = sealing_key(opened, trust, size_of(opened))
        return notice_report(opened, (_SEAL_HOLDS, key, *time_stamp(opened), _NOTICE_ATTACHED, _PAGE_FORM), trust)
    evidence, supplement, forms = read_contents(opened.evidence, opened.supplement)
    checks = forms
    if evidence is not None and supplement is not None:
        case = case_of(evidence, supplement, opened.evidence, opened.pages, trust)
        whole = Look("nothing else printed", lambda _: nothing_else(case, opened.flow), nothing_else_words)
        again = Look(
            "page drawn again", lambda _: drawn_again(case, opened, pdf), lambda _: "every byte comes out again."
        )
        checks = (*forms, *(look_at(case, look) for look in (*LOOKS, whole, *([again] if redraw else []))))
    return _report((*_opened(opened, trust, supplement), *checks), opened, evidence)


def verify_certificates(files: Iterable[bytes], trust: Trust | None) -> tuple[Report, ...]:
    """``verify_certificate`` of each file, in order."""
    return tuple(verify_certificate(pdf, trust) for pdf in files)


def contents_checks(evidence: bytes, supplement: bytes, pages: tuple[str, ...], trust: Trust) -> tuple[Check, ...]:
    """Every check that needs no seal: both files inside against each other, the page and the trust."""
    found, added, forms = read_contents(evidence, supplement)
    if found is None or added is None:
        return forms
    case = case_of(found, added, evidence, pages, trust)
    return (*forms, *(look_at(case, look) for look in LOOKS))


def _unopened(findings: tuple[Finding, ...], trust: Trust | None) -> Iterator[Check]:
    for finding in findings:
        unknown = finding.code in CODES_UNKNOWN
        if finding.code == "seal.key-unknown":
            yield Check("seal", holds=True, said="it covers the whole file and holds.")
            no_trust = "No trust file was given. " if trust is None else ""
            yield Check("sealing key", holds=None, said=f"{no_trust}{finding.what} {finding.remedy}")
        else:
            name = _NAMES.get(finding.code, "seal")
            yield Check(name, holds=None if unknown else False, said=finding.what)


def _opened(opened: SealedPdf, trust: Trust, supplement: Supplement | None) -> Iterator[Check]:
    released = supplement.release.statement.at if supplement else ""
    yield sealed_after(opened, released) or _SEAL_HOLDS
    yield sealing_key(opened, trust, supplement.checkpoint.size if supplement else 0)
    yield from time_stamp(opened)
    yield Check("attachments", holds=True, said="exactly evidence.json and supplement.json.")
    yield _PAGE_FORM


def _report(checks: tuple[Check, ...], opened: SealedPdf, evidence: Evidence | None) -> Report:
    name = digest(opened.evidence)
    return Report(
        checks,
        **_facts(evidence),
        sealed_by=opened.signer,
        sealed_at=opened.signed_at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        evidence_sha256=name,
        unsealed_sha256=opened.unsealed_sha256,
        sealed_sha256=opened.sealed_sha256,
        rosette=rosette(bytes.fromhex(name)),
    )


def _facts(evidence: Evidence | None) -> dict[str, str]:
    if evidence is None:
        return {}
    facts = evidence.certificate
    return {
        "number": facts.number,
        "laboratory": facts.laboratory.name,
        "ledger": evidence.ledger,
        "sample": f"{facts.sample.sample}, lot {facts.sample.row.lot}",
        "conclusion": facts.conclusion,
    }


def _changes(evidence: Evidence) -> str:
    facts = evidence.certificate
    if facts.kind != "amendment":
        return f"none: it is an {facts.kind}." if facts.kind == "original" else f"none: it is a {facts.kind}."
    return (
        f"{len(evidence.changed)} texts differ from {facts.replaces}, as marked; what stood there is not checked here."
    )


def _methods(case: Case) -> str:
    count = len({run.facts.method for run in case.evidence.runs})
    return f"{count} method{'' if count == 1 else 's'}"


def _shown(case: Case) -> str:
    shown = sum(len(run.clear) for run in case.evidence.runs)
    return f"{shown} of {sum(run.facts.solutions for run in case.evidence.runs)}"


def _results(case: Case) -> str:
    count, sums = len(case.evidence.results), len(case.evidence.sums)
    results = "1 result" if count == 1 else f"{count} results"
    return f"{results} and {sums} sum{'' if sums == 1 else 's'}" if sums else results
