"""The sentences of a certificate that speak of all results at once, and its signature paragraphs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate import wording
from benchseal.certificate.view import SignatureParagraph
from benchseal.records.canonical import digest
from benchseal.records.elements import element_name
from benchseal.records.results import BelowLimit, Quantified
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.certificate.view import Verdict as Kind
    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.results import WorkedResult
    from benchseal.records.signatures import Signature
    from benchseal.records.specification import DecisionRule

COMPLIES = "complies with the specification"
FAILS = "does not comply with the specification"
NOT_ALL = "is not said to comply in every result"
_FIGURES_SHOWN = 8
_COVERED = {"validated uncertainty": "what validation of the method found"}  # else the name as the budget has it
_OTHERS = "whatever else absorbs there was read with"
_WORK_SENTENCES = {
    Meaning.PERFORMED: "I measured {runs} as recorded.",
    Meaning.REVIEWED: "I reviewed readings, calculations and checks of {runs}.",
}
_CERTIFICATE_SENTENCES = {
    Meaning.APPROVED: "I approve these results for this certificate.",
    Meaning.RELEASED: "I release these results to the customer.",
}


def conclusion_for(results: Sequence[WorkedResult]) -> str:
    """What ``CertificateFacts.conclusion`` must say of these results."""
    verdicts = {result.verdict for result in results}
    if verdicts & {"fail", "conditional fail"}:
        return FAILS
    return COMPLIES if verdicts == {"pass"} else NOT_ALL


def conformity(results: Sequence[WorkedResult]) -> tuple[str, Kind]:
    """The one sentence the eye should find first, and what it amounts to."""
    failing = [result for result in results if result.verdict in {"fail", "conditional fail"}]
    passing = [result for result in results if result.verdict == "pass"]
    conditional = [result for result in results if result.verdict == "conditional pass"]
    unsaid = [result for result in results if result.verdict == "none"]
    parts = []
    if failing:
        parts.append(f"{_names(failing)} {_does(failing, 'does', 'do')} not comply with the specification")
    if passing:
        parts.append(_passing(passing, len(results)))
    if conditional:
        parts.append(f"{_names(conditional)} {_does(conditional, 'complies', 'comply')} conditionally")
    if unsaid:
        parts.append(f"no statement of conformity is made for {_names(unsaid)}")
    kind: Kind = "fails" if failing else "open" if conditional or unsaid else "complies"
    return f"{wording.capital('; '.join(parts))}.", kind


def _passing(passing: Sequence[WorkedResult], of: int) -> str:
    if len(passing) == of:
        every = (
            "the result complies"
            if of == 1
            else f"{'both' if of == 2 else f'all {wording.counted(of)}'} results comply"
        )
        return f"{every} with the specification"
    count = len(passing)
    return (
        f"{_names(passing)} comply with the specification"
        if count > 1
        else (f"{_names(passing)} complies with the specification")
    )


def _names(results: Sequence[WorkedResult]) -> str:
    return wording.listed(list(dict.fromkeys(element_name(result.element) for result in results)))


def _does(results: Sequence[WorkedResult], one: str, several: str) -> str:
    return one if len({result.element for result in results}) == 1 else several


def decision_rule(results: Sequence[WorkedResult]) -> str:
    """Each rule in plain words, with whom it is for where there are several."""
    by_rule: dict[DecisionRule, list[WorkedResult]] = {}
    for result in results:
        if result.lower or result.upper:
            by_rule.setdefault(result.rule, []).append(result)
    if not by_rule:
        return "none: the specification sets no limit."
    if len(by_rule) == 1:
        return f"{wording.RULE_SENTENCES[next(iter(by_rule))]}."
    sentences = (f"{_names(own)}: {wording.RULE_SENTENCES[rule]}." for rule, own in by_rule.items())
    return " ".join(wording.capital(sentence) for sentence in sentences)


def uncertainty(results: Sequence[WorkedResult]) -> str:
    """What U is, what it covers, and what ``<`` means."""
    measured = [result for result in results if isinstance(result.outcome, Quantified)]
    sentences = []
    if measured:
        factors = sorted({result.outcome.k for result in measured if isinstance(result.outcome, Quantified)})
        k = f"k = {factors[0]}" if len(factors) == 1 else "k as stated beside it"
        level = ", which gives a level of confidence of about 95 %" if factors == ["2"] else ""
        covered = dict.fromkeys(_COVERED.get(one.name, one.name) for result in measured for one in result.contributions)
        sentences += [
            f"U, after ±, is the expanded uncertainty with coverage factor {k}{level}.",
            f"It covers {wording.listed(list(covered))}; it does not cover sampling.",
        ]
    if any(isinstance(result.outcome, BelowLimit) for result in results):
        sentences.append("“<” stands before the quantification limit of the method for the portions measured.")
    return " ".join(sentences)


def uncorrected(methods: Sequence[Method]) -> str:
    """Which elements were measured without background correction, and the reasons their methods state.

    That other vapours absorb at the mercury line: EPA 245.1, section 4, from memory.
    """
    bare = [method for method in methods if method.background_correction == "none"]
    if not bare:
        return ""
    lines = list(dict.fromkeys(f"{element_name(one.element)} at {one.wavelength_nm} nm" for one in bare))
    was, it = ("was", "it") if len(lines) == 1 else ("were", "them")
    said = [f"{wording.listed(lines)} {was} measured without background correction, so {_OTHERS} {it}"]
    said += [
        f"for {element_name(one.element)} the method says: {one.uncorrected_because.strip().rstrip('.')}"
        for one in bare
        if one.uncorrected_because.strip()
    ]
    said += [
        f"organic and other vapours that absorb at {one.wavelength_nm} nm would be read as mercury"
        for one in bare
        if one.technique == "cold_vapour"
    ]
    return " ".join(f"{wording.capital(sentence)}." for sentence in dict.fromkeys(said))


def signature_paragraphs(evidence: Evidence, release: Signature | None) -> tuple[SignatureParagraph, ...]:
    """One person, one act, one paragraph; the release last."""
    shown = {run.run for run in evidence.runs}
    runs = {
        digest(record_bytes(packet)): [one.run for one in packet.runs if one.run in shown]
        for packet in evidence.packets
    }
    every = (*evidence.signatures, release) if release else evidence.signatures
    return tuple(
        _paragraph(signature, _runs(runs.get(signature.statement.digest, []), len(shown))) for signature in every
    )


def _runs(own: Sequence[str], of: int) -> str:
    """``run R-00003``, ``runs R-00001 and R-00002``, ``all six runs``."""
    if len(own) == 1:
        return f"run {own[0]}"
    return f"all {wording.counted(of)} runs" if len(own) == of > 2 else f"runs {wording.listed(own)}"


def _paragraph(signature: Signature, runs: str) -> SignatureParagraph:
    statement = signature.statement
    return SignatureParagraph(
        name=statement.printed_name,
        role=wording.ROLES.get(statement.role, statement.role),
        meaning=_meaning(statement.meaning, runs),
        at=wording.signed_at(statement.at, statement.zone),
        digest_start=signature.signature[:_FIGURES_SHOWN],
    )


def _meaning(meaning: str, runs: str) -> str:
    """A meaning as its signer would say it; an unknown one as it stands."""
    for known, sentence in _WORK_SENTENCES.items():
        if known == meaning:
            return sentence.format(runs=runs)
    return next((words for known, words in _CERTIFICATE_SENTENCES.items() if known == meaning), meaning)
