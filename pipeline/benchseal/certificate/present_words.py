"""The sentences of a certificate that speak of all results at once, and its signature paragraphs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate import wording
from benchseal.certificate.conclude import COMPLIES, FAILS, decide, has_limit, line_names, listed_lines
from benchseal.certificate.present_sums import sum_sentences
from benchseal.certificate.view import SignatureParagraph
from benchseal.records.canonical import digest
from benchseal.records.elements import element_name
from benchseal.records.results import BelowLimit, Quantified, WorkedResult
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning
from benchseal.records.sums import WorkedSum

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.conclude import Decided, Line
    from benchseal.certificate.view import Verdict as Kind
    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.signatures import Signature
    from benchseal.records.specification import DecisionRule

_FIGURES_SHOWN = 8
# No method corrects for recovery; whether a value is corrected has to be said (common practice, no source).
UNCORRECTED_FOR_RECOVERY = "No value is corrected for recovery."
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


def conformity(results: Sequence[Line]) -> tuple[str, Kind]:
    """The one sentence the eye should find first, and what it amounts to."""
    found = decide(results)
    if found.amounts == "no limits":
        return "No limits are specified; no statement of conformity is made.", "open"
    parts = []
    if found.failing:
        parts.append(_say(found.failing, results, FAILS, "do not comply with the specification"))
    if found.passing:
        parts.append(_passing(found, results))
    if found.conditional:
        parts.append(_say(found.conditional, results, "complies conditionally", "comply conditionally"))
    if found.unsaid:
        parts.append(f"no statement of conformity is made for {_names(found.unsaid, results)}")
    if found.informative:
        parts.append(f"no limit is specified for {_names(found.informative, results)}")
    return f"{wording.capital('; '.join(parts))}.", found.amounts


def _passing(found: Decided, results: Sequence[Line]) -> str:
    if found.amounts != "complies":
        return _say(found.passing, results, COMPLIES, "comply with the specification")
    of = len(found.passing)
    limited = " with a limit" if found.informative else ""
    if of == 1:
        return f"the result{limited} {COMPLIES}"
    every = "both" if of == 2 else f"all {wording.counted(of)}"
    return f"{every} results{limited} comply with the specification"


def _say(these: Sequence[Line], among: Sequence[Line], one: str, several: str) -> str:
    """Names and what they do. A name that ends in a part of its own is closed by a comma before its verb."""
    names = line_names(these, among)
    close = "," if "," in names[-1] else ""
    return f"{listed_lines(names)}{close} {one if len(names) == 1 else several}"


def _names(these: Sequence[Line], among: Sequence[Line]) -> str:
    return listed_lines(line_names(these, among))


def decision_rule(results: Sequence[Line]) -> str:
    """Each rule in plain words, with the lines it is for where there are several."""
    by_rule: dict[DecisionRule, list[Line]] = {}
    for result in results:
        if has_limit(result):
            by_rule.setdefault(result.rule, []).append(result)
    if not by_rule:
        return "none: the specification sets no limit."
    if len(by_rule) == 1:
        sentences = [f"{wording.RULE_SENTENCES[next(iter(by_rule))]}."]
    else:
        rules = (f"{_names(own, results)}: {wording.RULE_SENTENCES[rule]}." for rule, own in by_rule.items())
        sentences = [wording.capital(sentence) for sentence in rules]
    return " ".join((*sentences, *_on_singles(results)))


def _on_singles(results: Sequence[Line]) -> Iterator[str]:
    """Where single portions have limits of their own: what one outside means."""
    held = [one for one in results if isinstance(one, WorkedResult) and any(row.verdict for row in one.portions)]
    if held:
        yield (
            f"Each portion of {_names(held, results)} is compared with a limit of its own in the same way, without an "
            "uncertainty; one outside makes the result not comply."
        )


def uncertainty(results: Sequence[Line]) -> str:
    """What U is, what it covers, and what ``<`` means."""
    measured = [one.outcome for one in results if isinstance(one.outcome, Quantified) and one.outcome.expanded_text]
    sentences = []
    if measured:
        factors = sorted({outcome.k for outcome in measured})
        k = f"k = {factors[0]}" if len(factors) == 1 else "k as stated beside it"
        level = ", which gives a level of confidence of about 95 %" if factors == ["2"] else ""
        covered = dict.fromkeys(_covered(results))
        sentences.append(f"U, after ±, is the expanded uncertainty with coverage factor {k}{level}.")
        if covered:
            sentences.append(f"It covers: {'; '.join(covered)}. It does not cover sampling.")  # a name may hold commas
    if any(isinstance(one.outcome, BelowLimit) for one in results if isinstance(one, WorkedResult)):
        sentences.append("“<” stands before the quantification limit of the method for the portions measured.")
    sentences.append(UNCORRECTED_FOR_RECOVERY)
    return " ".join((*sentences, *sum_sentences([one for one in results if isinstance(one, WorkedSum)])))


def _covered(lines: Sequence[Line]) -> Iterator[str]:
    """What the uncertainties of the measured results are made of; those of sums are made of these."""
    for one in lines:
        if isinstance(one, WorkedResult) and isinstance(one.outcome, Quantified):
            yield from (_COVERED.get(part.name, part.name) for part in one.contributions)


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
    acts = {digest(record_bytes(packet)): packet.act for packet in evidence.packets}
    every = (*evidence.signatures, release) if release else evidence.signatures
    return tuple(
        _paragraph(
            signature,
            _runs(runs.get(signature.statement.digest, []), len(shown)),
            _did(evidence, signature.statement.person, acts.get(signature.statement.digest, "")),
        )
        for signature in every
    )


def _did(evidence: Evidence, person: str, act: str) -> str:
    """What a performer did, as far as this certificate shows it; empty where the usual sentence says it.

    Whoever submits says that they measured, unless every file names somebody else as having done that.
    """
    named = {run.facts.facts.operator.strip().casefold() for run in evidence.runs} - {""}
    measured = bool(named & {person, person.removeprefix("p-")})
    if act == "submit":
        return "I calculated and submitted {runs} as recorded." if named and not measured else ""
    if act != "share":
        return ""
    if any(one.prepared_by == person for one in evidence.portions):
        return f"I prepared portions for {{runs}}{' and measured' if measured else ''} as recorded."
    return f"I {'measured' if measured else 'did my share of'} {{runs}} as recorded."


def _runs(own: Sequence[str], of: int) -> str:
    """``run R-00003``, ``runs R-00001 and R-00002``, ``all six runs``."""
    if len(own) == 1:
        return f"run {own[0]}"
    return f"all {wording.counted(of)} runs" if len(own) == of > 2 else f"runs {wording.listed(own)}"


def _paragraph(signature: Signature, runs: str, share: str) -> SignatureParagraph:
    statement = signature.statement
    return SignatureParagraph(
        name=statement.printed_name,
        role=wording.ROLES.get(statement.role, statement.role),
        meaning=share.format(runs=runs) if share else _meaning(statement.meaning, runs),
        at=wording.signed_at(statement.at, statement.zone),
        digest_start=signature.signature[:_FIGURES_SHOWN],
    )


def _meaning(meaning: str, runs: str) -> str:
    """A meaning as its signer would say it; an unknown one as it stands."""
    for known, sentence in _WORK_SENTENCES.items():
        if known == meaning:
            return sentence.format(runs=runs)
    return next((words for known, words in _CERTIFICATE_SENTENCES.items() if known == meaning), meaning)
