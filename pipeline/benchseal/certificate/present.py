"""From evidence to what the page says. Texts of results come from the record as they stand; nothing is computed again.

``verify`` builds the same view from the evidence in a sealed file and compares it with the page, so everything here
depends on the evidence alone, and on what the supplement adds: release and checkpoint.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Final, assert_never

from benchseal.certificate import wording
from benchseal.certificate.conclude import line_id, lines_of
from benchseal.certificate.marks import marked
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
from benchseal.certificate.view import (
    STANDING_CAUTIONS,
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
)
from benchseal.records.elements import element_name
from benchseal.records.evidence import PrintedResult
from benchseal.records.quantities import decimals_of, plain, round_to_decimals, unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.evidence import CertificateFacts, CheckpointRecord, Evidence
    from benchseal.records.results import WorkedPortion, WorkedResult
    from benchseal.records.signatures import Signature
    from benchseal.records.specification import Requirement, Specification

TITLE: Final = "Certificate of analysis"
SUPPLEMENT_TITLE: Final = "Supplement to a certificate of analysis"
_NOWHERE: Final = "–"  # noqa: RUF001  a true dash is what is printed
_ROOT_FIGURES: Final = 16
_LIMIT_DIGITS: Final = 2
_SIMPLIFIED: Final = (
    "Simplified form, as agreed with the customer ({agreement}): calibrations, checks and conditions of measurement "
    "are not printed. They are attached to the sealed file, and the laboratory has them ready."
)
_STATED: Final = ("expiry", "retest date", "grade", "manufacturer", "first certificate")


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
    facts = evidence.certificate
    zone = facts.laboratory.zone
    return CertificateView(
        title=SUPPLEMENT_TITLE if facts.kind == "supplement" else TITLE,
        number=facts.number,
        issued_on=wording.day(wording.local(release.statement.at, zone)) if release else "",
        laboratory=_laboratory(facts),
        customer=Customer(facts.customer.name, _lines(facts.customer.address)),
        item=_item(evidence),
        conformity=_conformity(evidence),
        results=marked(result_rows(evidence), evidence.changed, facts.replaces),
        deviations="; ".join(facts.deviations) or "none",
        uncertainty=uncertainty(lines_of(evidence)),
        runs=() if facts.simplified else tuple(run_panel(run, zone) for run in evidence.runs),
        signatures=signature_paragraphs(evidence, release),
        provenance=_provenance(evidence, checkpoint, evidence_digest),
        limits_and_cautions=(*STANDING_CAUTIONS, *_on_runs(evidence)),
        relation=_relation(facts),
        notes=(*(f"Comment: {comment}" for comment in facts.comments), *notes_on_exceptions(evidence)),
        opinions=tuple(opinion(signed, zone) for signed in evidence.opinions),
        unsealed_mark="DRAFT" if draft else "",
        uncorrected="" if facts.simplified else uncorrected([run.method for run in evidence.runs]),
        changes=tuple(Change(one.place, one.before or _NOWHERE, one.after or _NOWHERE) for one in evidence.changed),
        in_part=_in_part(facts),
        simplified=_SIMPLIFIED.format(agreement=facts.simplified) if facts.simplified else "",
    )


def _on_runs(evidence: Evidence) -> Iterator[str]:
    if not evidence.certificate.simplified:
        yield from notes_on_curves(evidence)
        yield from notes_on_checks(evidence)


def result_rows(evidence: Evidence) -> tuple[ResultRow, ...]:
    """The rows of the results, then those of the sums, each in the order of the evidence."""
    asked = evidence.specification
    results = (result_row(basis.result, asked) for basis in evidence.results)
    return (*results, *(sum_row(worked, asked) for worked in evidence.sums))


def result_row(result: WorkedResult, specification: Specification) -> ResultRow:
    """One result as one line. Raises ValueError when no requirement asks for it."""
    asked = requirement_for(result, specification)
    value, expanded, coverage = _value(result)
    unlimited = not (result.lower or result.upper)
    verdict, kind = wording.NOT_JUDGED if unlimited else wording.VERDICTS[result.verdict]
    of_claim = "% of claim" if result.quantity == "percent_of_claim" else ""
    return ResultRow(
        substance=wording.capital(element_name(result.element)),
        quantity=_quantity(result, asked, specification),
        value=value,
        expanded=expanded,
        unit=unit_shown(result.unit),
        coverage=coverage,
        limit=wording.limit(result.lower, result.upper, of_claim),
        rule="no limit" if unlimited else wording.RULES[result.rule],
        verdict=verdict,
        verdict_kind=kind,
        method=f"{result.method.id}@{result.method.version}",
        detail=_detail(result, asked),
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


def _value(result: WorkedResult) -> tuple[str, str, str]:
    """Value, expanded uncertainty and coverage factor, each as printed."""
    outcome = result.outcome
    match outcome:
        case Quantified():
            return wording.printed(outcome.value_text), outcome.expanded_text, f"k = {outcome.k}"
        case BelowLimit():
            return wording.printed(outcome.value_text), "", ""
        case NotReportable():
            raise ValueError(f"{result.element} has no value to print: {outcome.why}")
        case _:
            assert_never(outcome)


def _quantity(result: WorkedResult, asked: Requirement, specification: Specification) -> str:
    """What the value is of, on which basis, and as which substance where it is not the element itself."""
    substance = f", as {result.expressed_as}" if result.expressed_as else ""
    return f"{_measured_quantity(result, asked, specification)}{substance}"


def _measured_quantity(result: WorkedResult, asked: Requirement, specification: Specification) -> str:
    quantity = result.quantity
    match quantity:
        case "concentration":
            return f"{result.fraction}, {wording.basis(result.basis)}"
        case "content":
            named = "mass fraction, " if result.unit == "%" else ""  # a percentage says of what
            return f"{result.fraction}, {named}{wording.basis(result.basis)}"
        case "amount_per_unit":
            return f"{result.fraction}, per {specification.unit_name}"
        case "percent_of_claim":
            return f"of claim, {asked.claim_mg} mg"
        case "release_per_area":
            return "released per area"
        case _:
            assert_never(quantity)


def _detail(result: WorkedResult, asked: Requirement) -> str:
    """``Portions 99.4 and 98.9 %; portion W-5: spilled``: at the places of the result, which has one more rounding.

    On dry basis the moisture taken out is said, as it was entered; a value by standard additions, or read between two
    standards, says so; under a limit from an exposure, that exposure.
    """
    parts = (*_detected(result), *_portions(result, asked), *_singles(result, asked), *_exposure(asked))
    return wording.capital("; ".join(parts))


def _detected(result: WorkedResult) -> Iterator[str]:
    """Of a result below its quantification limit, where the method has a detection limit: on which side of that."""
    outcome = result.outcome
    if isinstance(outcome, BelowLimit) and result.detection_limit:
        limit = f"{wording.short(result.detection_limit, _LIMIT_DIGITS)} {unit_shown(result.unit)}"
        found = Decimal(outcome.value) >= Decimal(result.detection_limit)
        yield f"detected, above the detection limit {limit}" if found else f"below the detection limit {limit} too"


def _portions(result: WorkedResult, asked: Requirement) -> Iterator[str]:
    kept: dict[tuple[str, str], list[WorkedPortion]] = {}
    for row in result.portions:
        kept.setdefault((row.batch, row.portion), []).append(row)
    used = [row for rows in kept.values() for row in rows if row.value]
    lost = [rows[-1] for rows in kept.values() if not any(row.value for row in rows)]
    if len(used) > 1 and isinstance(result.outcome, Quantified):
        places = decimals_of(result.outcome.value_text)
        texts = [wording.printed(plain(round_to_decimals(Decimal(row.value), places, asked.rounding))) for row in used]
        yield f"portions {wording.listed(texts)} {unit_shown(result.unit)}"
    yield from (f"portion {row.portion}: {row.why}" for row in lost)
    if moistures := dict.fromkeys(row.moisture_percent for row in used if row.moisture_percent):
        yield f"moisture taken out: {wording.listed(list(moistures))} %"
    if by_additions := [row.portion for row in used if row.series]:
        of_some = f", portion {wording.listed(by_additions)}" if len(by_additions) < len(used) else ""
        yield f"by standard additions{of_some}"
    if between := [row.portion for row in used if row.bracket]:
        of_some = f", portion {wording.listed(between)}" if len(between) < len(used) else ""
        yield f"read between two standards{of_some}"
    if drifted := [row.portion for row in used if row.drift]:
        of_some = f", portion {wording.listed(drifted)}" if len(drifted) < len(used) else ""
        yield f"corrected for drift{of_some}"


def _singles(result: WorkedResult, asked: Requirement) -> Iterator[str]:
    """The limits of single portions, and which portions are not within them, with digits enough to see it."""
    limits = (asked.portion_lower, asked.portion_upper)
    if not any(limits):
        return
    named = [
        f"{row.portion} ({wording.short_against(row.value, *limits)}) outside"
        if row.verdict == "fail"
        else f"{row.portion} not judged"
        for row in result.portions
        if row.verdict in {"fail", "none"}
    ]
    limit = wording.limit(*limits, unit_shown(result.unit))
    yield f"limit of single portions {limit}: {wording.listed(named) or 'all within'}"


def _exposure(asked: Requirement) -> Iterator[str]:
    """Where an upper limit comes from a permitted daily exposure: exposure, route and dose, as specified."""
    if asked.pde_ug_per_day and asked.daily_dose_g and asked.upper:
        route = f", {asked.route}" if asked.route else ""
        exposure = f"permitted daily exposure (PDE) {asked.pde_ug_per_day} µg/day{route}"
        yield f"limit from: {exposure}; daily dose {asked.daily_dose_g} g"


def _laboratory(facts: CertificateFacts) -> Laboratory:
    laboratory = facts.laboratory
    return Laboratory(
        laboratory.name, _lines(laboratory.address), f"{laboratory.name}, {_one_line(laboratory.address)}"
    )


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _one_line(text: str) -> str:
    return ", ".join(_lines(text))


def _item(evidence: Evidence) -> Item:
    facts = evidence.certificate
    row = facts.sample.row
    return Item(
        description=row.description,
        product=row.product,
        lot=row.lot,
        sample_number=facts.sample.sample,
        customer_sample_id=row.customer_sample_id,
        received_on=wording.day_of(row.received_on),
        quantity_received=row.quantity_received,
        measured_on=wording.days(facts.measured_from, facts.measured_to),
        sampling=_sampling(facts),
        condition=row.condition,
        sampled_on=wording.day_of(row.sampled_on),
        grade=row.grade,
        manufacturer=_one_line(row.manufacturer),
        expiry=wording.day_of(row.expires_on),
        retest=wording.day_of(row.retest_on),
        first_certificate=row.first_certificate,
        stated_by_customer=wording.listed(list(_stated(evidence))),
    )


def _sampling(facts: CertificateFacts) -> str:
    by = facts.sample.row.sampled_by
    if by == facts.laboratory.name:
        plan = facts.sample.row.sampling_plan
        return f"Sampled by the laboratory{f': {_one_line(plan)}' if plan else ''}."
    if not by:
        return "The laboratory did not sample; the results apply to the sample as received."
    who = "the customer" if by in {facts.customer.customer, facts.customer.name} else by
    return f"Sampled by {who}; the results apply to the sample as received."


def _stated(evidence: Evidence) -> Iterator[str]:
    """What the customer supplied (ISO/IEC 17025, 7.8.2.2)."""
    row = evidence.certificate.sample.row
    yield from ("product", "lot", "designation of the sample")
    if row.sampled_on:
        yield "date of sampling"
    said = (row.expires_on, row.retest_on, row.grade, row.manufacturer, row.first_certificate)
    yield from (words for text, words in zip(said, _STATED, strict=True) if text)
    if any(basis.result.quantity == "percent_of_claim" for basis in evidence.results):
        yield f"label claim of one {evidence.specification.unit_name}"


def _conformity(evidence: Evidence) -> Conformity:
    specification, ref = evidence.specification, evidence.specification_ref
    lines = lines_of(evidence)
    conclusion, kind = conformity(lines)
    agreed = f"; {specification.agreed}" if specification.agreed else ""
    return Conformity(
        conclusion=conclusion,
        verdict_kind=kind,
        specification=f"{specification.title}, {ref.id} version {ref.version}{agreed}",
        decision_rule=decision_rule(lines),
    )


def _provenance(evidence: Evidence, checkpoint: CheckpointRecord | None, evidence_digest: str) -> Provenance:
    return Provenance(
        ledger_id=evidence.ledger,
        ledger_size=str(checkpoint.size) if checkpoint else "",
        ledger_root_start=checkpoint.root[:_ROOT_FIGURES] if checkpoint else "",
        evidence_digest=evidence_digest,
        program=evidence.program,
        calculation_rules=str(evidence.calculation_rules),
    )


def _relation(facts: CertificateFacts) -> Relation | None:
    kind = facts.kind
    match kind:
        case "original":
            return None
        case "amendment":
            return Relation(f"Amends and replaces certificate {facts.replaces}: {ended(facts.reason)}", facts.replaces)
        case "supplement":
            return Relation(f"Supplements certificate {facts.first}: {ended(facts.reason)}", facts.first)
        case _:
            assert_never(kind)


def _in_part(facts: CertificateFacts) -> str:
    """Where some lines of the specification are reported elsewhere: the conclusion is of those reported here."""
    if not facts.others:
        return ""
    others = wording.listed(list(facts.others))
    return f"Reports some lines of the specification; the others are reported by {others}."
