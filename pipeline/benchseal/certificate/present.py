"""From evidence to what the page says. Texts of results come from the record as they stand; nothing is computed again.

``verify`` builds the same view from the evidence in a sealed file and compares it with the page, so everything here
depends on the evidence alone, and on what the supplement adds: release and checkpoint.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Final, assert_never

from benchseal.certificate.conclude import line_id, lines_of
from benchseal.certificate.language import DASH, ENGLISH, Words, capital, local
from benchseal.certificate.marks import marked
from benchseal.certificate.present_form import of_letterhead, title_of, words_of
from benchseal.certificate.present_notes import ended, notes_on_checks, notes_on_curves, notes_on_exceptions, opinion
from benchseal.certificate.present_runs import run_panel
from benchseal.certificate.present_sums import sum_row
from benchseal.certificate.present_words import (
    conformity,
    decision_rule,
    signature_paragraphs,
    uncertainty,
    uncorrected,
)
from benchseal.certificate.sampler import own_date, sampler_of, says_unrecorded
from benchseal.certificate.view import (
    CertificateView,
    Change,
    Conformity,
    Customer,
    Item,
    Laboratory,
    Provenance,
    Relation,
    ResultRow,
    printed_tokens,
    standing_cautions,
)
from benchseal.certificate.wording import VERDICT_KINDS
from benchseal.records.evidence import PrintedResult
from benchseal.records.quantities import decimals_of, plain, round_to_decimals
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import CertificateFacts, CheckpointRecord, Evidence
    from benchseal.records.results import WorkedPortion, WorkedResult
    from benchseal.records.signatures import Signature
    from benchseal.records.specification import Requirement, Specification

_ROOT_FIGURES: Final = 16
_LIMIT_DIGITS: Final = 2
_STATED: Final = (
    "item/stated_expiry",
    "item/stated_retest",
    "item/stated_grade",
    "item/stated_manufacturer",
    "item/stated_first",
)


def with_printed(evidence: Evidence) -> Evidence:
    """``evidence`` with the tokens of each row of results and sums, in the order in which the page prints them."""
    rows = zip(lines_of(evidence), result_rows(evidence), strict=True)
    printed = tuple(PrintedResult(line_id(line), printed_tokens(row)) for line, row in rows)
    return replace(evidence, printed=printed)


def view_of(
    evidence: Evidence,
    *,
    release: Signature | None,
    checkpoint: CheckpointRecord | None,
    evidence_digest: str,
    draft: bool = False,
) -> CertificateView:
    """Everything the page says.

    draft: a paper marked DRAFT that cannot be sealed; release and checkpoint are then None and the digest empty.
    Raises ValueError where the evidence contradicts itself (a result that no requirement asks for, no date).
    """
    facts, words = evidence.certificate, words_of(evidence)
    zone = facts.laboratory.zone
    return CertificateView(
        title=title_of(evidence, words),
        number=facts.number,
        issued_on=words.day(local(release.statement.at, zone)) if release else "",
        laboratory=_laboratory(facts),
        customer=Customer(facts.customer.name, _lines(facts.customer.address)),
        item=_item(evidence, words),
        conformity=_conformity(evidence, words),
        results=marked(result_rows(evidence), evidence.changed, facts.replaces, words),
        deviations="; ".join(facts.deviations) or words.say("none"),
        uncertainty=uncertainty(lines_of(evidence), words),
        runs=() if facts.simplified else tuple(run_panel(run, zone, words) for run in evidence.runs),
        signatures=signature_paragraphs(evidence, release, words),
        provenance=_provenance(evidence, checkpoint, evidence_digest),
        limits_and_cautions=(*standing_cautions(words), *_on_runs(evidence, words)),
        relation=_relation(facts, words),
        notes=(
            *(words.say("note/comment", comment=comment) for comment in facts.comments),
            *notes_on_exceptions(evidence, words),
        ),
        opinions=tuple(opinion(signed, zone, words) for signed in evidence.opinions),
        unsealed_mark="DRAFT" if draft else "",
        uncorrected="" if facts.simplified else uncorrected([run.method for run in evidence.runs], words),
        changes=tuple(Change(one.place, one.before or DASH, one.after or DASH) for one in evidence.changed),
        in_part=_in_part(facts, words),
        simplified=words.say("note/simplified", agreement=facts.simplified) if facts.simplified else "",
        words=words,
        **of_letterhead(evidence),
    )


def _on_runs(evidence: Evidence, words: Words) -> Iterator[str]:
    if not evidence.certificate.simplified:
        yield from notes_on_curves(evidence, words)
        yield from notes_on_checks(evidence, words)


def result_rows(evidence: Evidence) -> tuple[ResultRow, ...]:
    """The rows of the results, then those of the sums, each in the order of the evidence."""
    asked, words = evidence.specification, words_of(evidence)
    results = (result_row(basis.result, asked, words) for basis in evidence.results)
    return (*results, *(sum_row(worked, asked, words) for worked in evidence.sums))


def result_row(result: WorkedResult, specification: Specification, words: Words = ENGLISH) -> ResultRow:
    """One result as one line. Raises ValueError when no requirement asks for it."""
    asked = requirement_for(result, specification)
    value, expanded, coverage = _value(result, words)
    unlimited = not (result.lower or result.upper)
    of_claim = words.say("limit/of_claim") if result.quantity == "percent_of_claim" else ""
    return ResultRow(
        substance=words.substance(result.element),
        quantity=_quantity(result, asked, specification, words),
        value=value,
        expanded=expanded,
        unit=words.unit(result.unit),
        coverage=coverage,
        limit=words.limit(result.lower, result.upper, of_claim),
        rule=words.say("limit/none") if unlimited else words.word("rule", result.rule),
        verdict=words.word("verdict", "not_judged" if unlimited else result.verdict),
        verdict_kind="open" if unlimited else VERDICT_KINDS[result.verdict],
        method=f"{result.method.id}@{result.method.version}",
        detail=_detail(result, asked, words),
    )


def requirement_for(result: WorkedResult, specification: Specification) -> Requirement:
    """The line of the specification that a result answers. Raises ValueError when there is none, or more than one."""
    found = [
        requirement
        for requirement in specification.requirements
        if requirement.element == result.element
        and requirement.quantity == result.quantity
        and requirement.basis == result.basis
        and requirement.expressed_as == result.expressed_as
        and result.method.id in requirement.methods
    ]
    if len(found) != 1:
        asked = ", ".join(part for part in (result.quantity, result.basis, result.expressed_as) if part)
        raise ValueError(f"{len(found)} lines of the specification ask for {result.element}, {asked}")
    return found[0]


def _value(result: WorkedResult, words: Words) -> tuple[str, str, str]:
    """Value, expanded uncertainty and coverage factor, each as printed."""
    outcome = result.outcome
    match outcome:
        case Quantified():
            k = words.say("uncertainty/k", k=words.number(outcome.k))
            return words.number(outcome.value_text), words.number(outcome.expanded_text), k
        case BelowLimit():
            return words.number(outcome.value_text), "", ""
        case NotReportable():
            raise ValueError(f"{result.element} has no value to print: {outcome.why}")
        case _:
            assert_never(outcome)


def _quantity(result: WorkedResult, asked: Requirement, specification: Specification, words: Words) -> str:
    """What the value is of, on which basis, and as which substance where it is not the element itself."""
    quantity = _measured_quantity(result, asked, specification, words)
    if not result.expressed_as:
        return quantity
    return words.say("quantity/as", quantity=quantity, substance=result.expressed_as)


def _measured_quantity(result: WorkedResult, asked: Requirement, specification: Specification, words: Words) -> str:
    quantity = result.quantity
    fraction, basis = words.word("fraction", result.fraction), words.word("basis", result.basis)
    match quantity:
        case "concentration":
            return words.say("quantity/on_basis", fraction=fraction, basis=basis)
        case "content":
            key = "quantity/mass_fraction" if result.unit == "%" else "quantity/on_basis"  # a percentage says of what
            return words.say(key, fraction=fraction, basis=basis)
        case "amount_per_unit":
            return words.say("quantity/per_unit", fraction=fraction, unit=specification.unit_name)
        case "percent_of_claim":
            return words.say("quantity/of_claim", claim=words.number(asked.claim_mg))
        case "release_per_area":
            return words.say("quantity/per_area")
        case _:
            assert_never(quantity)


def _detail(result: WorkedResult, asked: Requirement, words: Words) -> str:
    """``Portions 99.4 and 98.9 %; portion W-5: spilled``: at the places of the result, which has one more rounding.

    On dry basis the moisture taken out is said, as it was entered; a value by standard additions, or read between two
    standards, says so; under a limit from an exposure, that exposure.
    """
    parts = (
        *_detected(result, words),
        *_portions(result, asked, words),
        *_singles(result, asked, words),
        *_exposure(asked, words),
    )
    return capital("; ".join(parts))


def _detected(result: WorkedResult, words: Words) -> Iterator[str]:
    """Of a result below its quantification limit, where the method has a detection limit: on which side of that."""
    outcome = result.outcome
    if isinstance(outcome, BelowLimit) and result.detection_limit:
        limit = f"{words.short(result.detection_limit, _LIMIT_DIGITS)} {words.unit(result.unit)}"
        found = Decimal(outcome.value) >= Decimal(result.detection_limit)
        yield words.say("detail/detected" if found else "detail/below_detection", limit=limit)


def _portions(result: WorkedResult, asked: Requirement, words: Words) -> Iterator[str]:
    kept: dict[tuple[str, str], list[WorkedPortion]] = {}
    for row in result.portions:
        kept.setdefault((row.batch, row.portion), []).append(row)
    used = [row for rows in kept.values() for row in rows if row.value]
    lost = [rows[-1] for rows in kept.values() if not any(row.value for row in rows)]
    if len(used) > 1 and isinstance(result.outcome, Quantified):
        places = decimals_of(result.outcome.value_text)
        texts = [words.number(plain(round_to_decimals(Decimal(row.value), places, asked.rounding))) for row in used]
        yield words.say("detail/portions", values=words.listed(texts), unit=words.unit(result.unit))
    yield from (words.say("detail/lost", portion=row.portion, why=row.why) for row in lost)
    if moistures := dict.fromkeys(words.number(row.moisture_percent) for row in used if row.moisture_percent):
        yield words.say("detail/moisture", moistures=words.listed(list(moistures)))
    for key, worked_so in (
        ("detail/additions", [row.portion for row in used if row.series]),
        ("detail/between", [row.portion for row in used if row.bracket]),
        ("detail/drift", [row.portion for row in used if row.drift]),
    ):
        if worked_so:
            said = words.say(key)
            every = len(worked_so) == len(used)
            yield said if every else words.say("detail/of_portions", said=said, portions=words.listed(worked_so))


def _singles(result: WorkedResult, asked: Requirement, words: Words) -> Iterator[str]:
    """The limits of single portions, and which portions are not within them, with digits enough to see it."""
    limits = (asked.portion_lower, asked.portion_upper)
    if not any(limits):
        return
    named = [
        words.say("detail/single_outside", portion=row.portion, value=words.short_against(row.value, *limits))
        if row.verdict == "fail"
        else words.say("detail/single_open", portion=row.portion)
        for row in result.portions
        if row.verdict in {"fail", "none"}
    ]
    limit = words.limit(*limits, words.unit(result.unit))
    yield words.say("detail/singles", limit=limit, found=words.listed(named) or words.say("detail/single_inside"))


def _exposure(asked: Requirement, words: Words) -> Iterator[str]:
    """Where an upper limit comes from a permitted daily exposure: exposure, route and dose, as specified."""
    if asked.pde_ug_per_day and asked.daily_dose_g and asked.upper:
        route = f", {asked.route}" if asked.route else ""
        exposure = f"{words.number(asked.pde_ug_per_day)} {words.unit('ug/d')}{route}"
        yield words.say("detail/exposure", exposure=exposure, dose=words.number(asked.daily_dose_g))


def _laboratory(facts: CertificateFacts) -> Laboratory:
    laboratory = facts.laboratory
    return Laboratory(
        laboratory.name, _lines(laboratory.address), f"{laboratory.name}, {_one_line(laboratory.address)}"
    )


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _one_line(text: str) -> str:
    return ", ".join(_lines(text))


def _item(evidence: Evidence, words: Words) -> Item:
    facts = evidence.certificate
    row = facts.sample.row
    return Item(
        description=row.description,
        product=row.product,
        lot=row.lot,
        sample_number=facts.sample.sample,
        customer_sample_id=row.customer_sample_id,
        received_on=words.day_of(row.received_on),
        quantity_received=row.quantity_received,
        measured_on=words.days(facts.measured_from, facts.measured_to),
        sampling=_sampling(evidence, words),
        condition=row.condition,
        sampled_on=words.day_of(row.sampled_on),
        grade=row.grade,
        manufacturer=_one_line(row.manufacturer),
        expiry=words.day_of(row.expires_on),
        retest=words.day_of(row.retest_on),
        first_certificate=row.first_certificate,
        stated_by_customer=words.listed(list(_stated(evidence, words))),
    )


def _sampling(evidence: Evidence, words: Words) -> str:
    row, by = evidence.certificate.sample.row, sampler_of(evidence)
    match by:
        case "laboratory":
            plan = row.sampling_plan
            return words.say("sampling/plan", plan=_one_line(plan)) if plan else words.say("sampling/laboratory")
        case "unrecorded":
            return words.say("sampling/unknown" if says_unrecorded(evidence) else "sampling/unknown_before_4")
        case "customer":
            return words.say("sampling/by", who=words.say("sampling/customer"))
        case "other":
            return words.say("sampling/by", who=row.sampled_by)
        case _:
            assert_never(by)


def _stated(evidence: Evidence, words: Words) -> Iterator[str]:
    """What the customer supplied (ISO/IEC 17025, 7.8.2.2)."""
    row = evidence.certificate.sample.row
    yield words.say("item/stated_product")
    yield words.say("item/stated_lot")
    yield words.say("item/stated_designation")
    if row.sampled_on and not own_date(evidence):
        yield words.say("item/stated_sampling")
    said = (row.expires_on, row.retest_on, row.grade, row.manufacturer, row.first_certificate)
    yield from (words.say(key) for text, key in zip(said, _STATED, strict=True) if text)
    if any(basis.result.quantity == "percent_of_claim" for basis in evidence.results):
        yield words.say("item/stated_claim", unit=evidence.specification.unit_name)


def _conformity(evidence: Evidence, words: Words) -> Conformity:
    specification, ref = evidence.specification, evidence.specification_ref
    lines = lines_of(evidence)
    conclusion, kind = conformity(lines, words, evidence.wording)
    named = words.say("specification/named", title=specification.title, id=ref.id, version=ref.version)
    agreed = f"; {specification.agreed}" if specification.agreed else ""
    return Conformity(
        conclusion=conclusion,
        verdict_kind=kind,
        specification=f"{named}{agreed}",
        decision_rule=decision_rule(lines, words, evidence.wording),
    )


def _provenance(evidence: Evidence, checkpoint: CheckpointRecord | None, evidence_digest: str) -> Provenance:
    return Provenance(
        ledger_id=evidence.ledger if checkpoint else "",  # its head is known with the release
        ledger_size=str(checkpoint.size) if checkpoint else "",
        ledger_root_start=checkpoint.root[:_ROOT_FIGURES] if checkpoint else "",
        evidence_digest=evidence_digest,
        program=evidence.program,
        calculation_rules=str(evidence.calculation_rules),
    )


def _relation(facts: CertificateFacts, words: Words) -> Relation | None:
    kind = facts.kind
    match kind:
        case "original":
            return None
        case "amendment":
            amends = words.say("relation/amends", number=facts.replaces, reason=ended(facts.reason))
            return Relation(amends, facts.replaces)
        case "supplement":
            supplements = words.say("relation/supplements", number=facts.first, reason=ended(facts.reason))
            return Relation(supplements, facts.first)
        case _:
            assert_never(kind)


def _in_part(facts: CertificateFacts, words: Words) -> str:
    """Where some lines of the specification are reported elsewhere: the conclusion is of those reported here."""
    if not facts.others:
        return ""
    return words.say("relation/part", others=words.listed(list(facts.others)))
