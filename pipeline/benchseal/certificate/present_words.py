"""The sentences of a certificate that speak of all results at once, and its signature paragraphs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.conclude import decide, has_limit, line_names, listed_lines
from benchseal.certificate.language import ENGLISH, capital
from benchseal.certificate.present_sums import sum_sentences
from benchseal.certificate.view import SignatureParagraph
from benchseal.certificate.wording import WORDING
from benchseal.records.results import BelowLimit, Quantified, WorkedResult
from benchseal.records.shape import record_digest
from benchseal.records.signatures import Meaning
from benchseal.records.sums import WorkedSum

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.conclude import Decided, Line
    from benchseal.certificate.language import Words
    from benchseal.certificate.view import Verdict as Kind
    from benchseal.records.evidence import Evidence
    from benchseal.records.method import Method
    from benchseal.records.signatures import Signature
    from benchseal.records.specification import DecisionRule

_FIGURES_SHOWN = 8
_WORK_SENTENCES = {Meaning.PERFORMED: "signed/measured", Meaning.REVIEWED: "signed/reviewed"}
_CERTIFICATE_SENTENCES = {Meaning.APPROVED: "signed/approved", Meaning.RELEASED: "signed/released"}
_NAMED_AT_MOST = 6  # lines named in a sentence; more are counted, and the table names them
_COUNTED_SINCE = 5  # the form of the page from which on they are; before it, all were named
_ONE_SIDED_95 = "1.645"  # standard uncertainties of the rule guarded_5


def conformity(results: Sequence[Line], words: Words = ENGLISH, wording: int = WORDING) -> tuple[str, Kind]:
    """The one sentence the eye should find first, and what it amounts to. wording: the form of the page."""
    found = decide(results)
    if found.amounts == "no limits":
        return words.say("conclusion/no_limits"), "open"
    groups = {
        "fails": found.failing,
        "complies": found.passing,
        "conditional": found.conditional,
        "unsaid": found.unsaid,
        "informative": found.informative,
    }
    groups = {what: these for what, these in groups.items() if these}
    parts = []
    in_table = False
    for what, these in groups.items():
        if what == "complies" and found.amounts == "complies":
            parts.append(_all(found, words))
        elif _is_counted(these, wording):
            parts.append(words.say(f"conclusion/{what}_counted", count=words.counted(len(these))))
            in_table = True
        elif what in {"unsaid", "informative"}:
            parts.append(words.say(f"conclusion/{what}", names=_names(these, results, words)))
        else:
            parts.append(_say(these, results, what, words))
    if in_table:
        parts.append(words.say("conclusion/in_table"))
    return f"{capital('; '.join(parts))}.", found.amounts


def _is_counted(these: Sequence[Line], wording: int) -> bool:
    """Whether a sentence says how many they are and leaves their names to the table."""
    return wording >= _COUNTED_SINCE and len(these) > _NAMED_AT_MOST


def _all(found: Decided, words: Words) -> str:
    of = len(found.passing)
    every = {1: "all_one", 2: "all_both"}.get(of, "all_many")
    limited = "_limited" if found.informative else ""
    return words.say(f"conclusion/{every}{limited}", count=words.counted(of))


def _say(these: Sequence[Line], among: Sequence[Line], what: str, words: Words) -> str:
    """Names and what they do. A name that ends in a part of its own is closed by a comma before its verb."""
    names = line_names(these, among, words)
    close = "," if "," in names[-1] else ""
    several = "one" if len(names) == 1 else "many"
    return words.say(f"conclusion/{what}_{several}", names=f"{listed_lines(names, words)}{close}")


def _names(these: Sequence[Line], among: Sequence[Line], words: Words) -> str:
    return listed_lines(line_names(these, among, words), words)


def decision_rule(results: Sequence[Line], words: Words = ENGLISH, wording: int = WORDING) -> str:
    """Each rule in plain words, with the lines it is for where there are several. wording: the form of the page."""
    by_rule: dict[DecisionRule, list[Line]] = {}
    for result in results:
        if has_limit(result):
            by_rule.setdefault(result.rule, []).append(result)
    if not by_rule:
        return words.say("decision/none")
    if len(by_rule) == 1:
        sentences = [f"{_rule(next(iter(by_rule)), words)}."]
    else:
        sentences = [capital(_for_lines(rule, own, results, words, wording)) for rule, own in by_rule.items()]
    return " ".join((*sentences, *_on_singles(results, words, wording)))


def _for_lines(rule: DecisionRule, own: Sequence[Line], among: Sequence[Line], words: Words, wording: int) -> str:
    said = _rule(rule, words)
    if _is_counted(own, wording):
        count, mark = words.counted(len(own)), words.word("rule", rule)
        return words.say("decision/line_counted", count=count, mark=mark, rule=said)
    return words.say("decision/line", names=_names(own, among, words), rule=said)


def _rule(rule: DecisionRule, words: Words) -> str:
    return words.word("rule_sentence", rule, factor=words.number(_ONE_SIDED_95))


def _on_singles(results: Sequence[Line], words: Words, wording: int) -> Iterator[str]:
    """Where single portions have limits of their own: what one outside means."""
    held = [one for one in results if isinstance(one, WorkedResult) and any(row.verdict for row in one.portions)]
    if held and _is_counted(held, wording):
        yield words.say("decision/singles_counted", count=words.counted(len(held)))
    elif held:
        yield words.say("decision/singles", names=_names(held, results, words))


def uncertainty(results: Sequence[Line], words: Words = ENGLISH) -> str:
    """What U is, what it covers, and what ``<`` means."""
    measured = [one.outcome for one in results if isinstance(one.outcome, Quantified) and one.outcome.expanded_text]
    sentences = []
    if measured:
        factors = sorted({outcome.k for outcome in measured})
        one_k = len(factors) == 1
        k = words.say("uncertainty/k", k=words.number(factors[0])) if one_k else words.say("uncertainty/k_several")
        level = words.say("uncertainty/95") if factors == ["2"] else ""
        covered = dict.fromkeys(_covered(results, words))
        sentences.append(words.say("uncertainty/u", k=k, level=level))
        if covered:
            sentences.append(words.say("uncertainty/covers", parts="; ".join(covered)))  # a name may hold commas
    if any(isinstance(one.outcome, BelowLimit) for one in results if isinstance(one, WorkedResult)):
        sentences.append(words.say("uncertainty/below"))
    # No method corrects for recovery; whether a value is corrected has to be said (common practice, no source).
    sentences.append(words.say("uncertainty/recovery"))
    return " ".join((*sentences, *sum_sentences([one for one in results if isinstance(one, WorkedSum)], words)))


def _covered(lines: Sequence[Line], words: Words) -> Iterator[str]:
    """What the uncertainties of the measured results are made of; those of sums are made of these."""
    for one in lines:
        if isinstance(one, WorkedResult) and isinstance(one.outcome, Quantified):
            yield from (words.word("covers", part.name) for part in one.contributions)


def uncorrected(methods: Sequence[Method], words: Words = ENGLISH) -> str:
    """Which elements were measured without background correction, and the reasons their methods state.

    That other vapours absorb at the mercury line: EPA 245.1, section 4, from memory.
    """
    bare = [method for method in methods if method.background_correction == "none"]
    if not bare:
        return ""
    named = (
        words.say("uncorrected/at", element=words.element(one.element), nm=words.number(one.wavelength_nm))
        for one in bare
    )
    lines = list(dict.fromkeys(named))
    several = "one" if len(lines) == 1 else "several"
    said = [words.say(f"uncorrected/{several}", lines=words.listed(lines))]
    said += [
        words.say(
            "uncorrected/because",
            element=words.element(one.element),
            reason=one.uncorrected_because.strip().rstrip("."),
        )
        for one in bare
        if one.uncorrected_because.strip()
    ]
    said += [
        words.say("uncorrected/vapour", nm=words.number(one.wavelength_nm))
        for one in bare
        if one.technique == "cold_vapour"
    ]
    return " ".join(f"{capital(sentence)}." for sentence in dict.fromkeys(said))


def signature_paragraphs(
    evidence: Evidence, release: Signature | None, words: Words = ENGLISH
) -> tuple[SignatureParagraph, ...]:
    """One person, one act, one paragraph; the release last."""
    shown = {run.run for run in evidence.runs}
    runs = {record_digest(packet): [one.run for one in packet.runs if one.run in shown] for packet in evidence.packets}
    acts = {record_digest(packet): packet.act for packet in evidence.packets}
    every = (*evidence.signatures, release) if release else evidence.signatures
    return tuple(
        _paragraph(
            signature,
            _runs(runs.get(signature.statement.digest, []), len(shown), words),
            _did(evidence, signature.statement.person, acts.get(signature.statement.digest, "")),
            words,
        )
        for signature in every
    )


def _did(evidence: Evidence, person: str, act: str) -> str:
    """Which sentence says what a performer did, as far as this certificate shows it; empty for the usual one.

    Whoever submits says that they measured, unless every file names somebody else as having done that.
    """
    named = {run.facts.facts.operator.strip().casefold() for run in evidence.runs} - {""}
    measured = bool(named & {person, person.removeprefix("p-")})
    if act == "submit":
        return "calculated" if named and not measured else ""
    if act != "share":
        return ""
    if any(one.prepared_by == person for one in evidence.portions):
        return "prepared_measured" if measured else "prepared"
    return "measured" if measured else "share"


def _runs(own: Sequence[str], of: int, words: Words) -> str:
    """``run R-00003``, ``runs R-00001 and R-00002``, ``all six runs``."""
    if len(own) == 1:
        return words.say("run/one", run=own[0])
    if len(own) == of > 2:
        return words.say("run/all", count=words.counted(of))
    return words.say("run/several", runs=words.listed(own))


def _paragraph(signature: Signature, runs: str, did: str, words: Words) -> SignatureParagraph:
    statement = signature.statement
    return SignatureParagraph(
        name=statement.printed_name,
        role=words.word("role", statement.role),
        meaning=words.say(f"signed/{did}", runs=runs) if did else _meaning(statement.meaning, runs, words),
        at=words.signed_at(statement.at, statement.zone),
        digest_start=signature.signature[:_FIGURES_SHOWN],
    )


def _meaning(meaning: str, runs: str, words: Words) -> str:
    """A meaning as its signer would say it; an unknown one as it stands."""
    for known, key in (_WORK_SENTENCES | _CERTIFICATE_SENTENCES).items():
        if known == meaning:
            return words.say(key, runs=runs)
    return meaning
