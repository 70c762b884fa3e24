"""Evidence and release to released rows: every field taken from what was signed, nothing computed again."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, assert_never

from benchseal.export.analytes import analyte
from benchseal.records.canonical import digest
from benchseal.records.quantities import is_plain_decimal, ucum_code, unit_shown
from benchseal.records.released import ReleasedRow, sealed
from benchseal.records.results import BelowLimit, NotReportable, Quantified
from benchseal.records.shape import record_bytes, record_digest
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from benchseal.records.canonical import Digest
    from benchseal.records.evidence import CertificateFacts, Evidence, EvidenceRun
    from benchseal.records.results import Outcome, WorkedPortion, WorkedResult
    from benchseal.records.signatures import Signature
    from benchseal.records.sums import WorkedSum

# JCGM 100:2008, 6.3.3 and G.6.6 (from memory): k = 2 stands for about 95 %, k = 3 for about 99 %, where the
# effective degrees of freedom are of significant size.
_PROBABILITY = {"2": "0.95", "3": "0.99"}
_FEW_DEGREES_OF_FREEDOM = 10

# What a withdrawn row must not carry any longer, lest a careless reader takes it for a result.
_WITHDRAWN_EMPTY = (
    "qualifier",
    "value_text",
    "value_number",
    "value_unrounded",
    "expanded_uncertainty",
    "coverage_factor",
    "coverage_probability",
    "uncertainty_unit",
    "verdict",
    "flags",
    "note",
)


@dataclass(frozen=True, slots=True)
class Acts:
    """Who measured and who reviewed one run, as export fields."""

    analyst_id: str
    analyst_name: str
    reviewed_by: str
    reviewed_at: str


def released_rows(
    evidence: Evidence, release: Signature, certificate_sha256: Digest, before: Mapping[str, int]
) -> tuple[ReleasedRow, ...]:
    """One row for each result of a released certificate, then one for each sum, in the order of the evidence.

    certificate_sha256: of the sealed PDF. before: the last released revision of each result_id, absent for none. A
    result released before becomes a corrected revision with the certificate's reason, in a supplement too: that
    reports it only where no certificate in force does. Raises RuntimeError where release, evidence and manifests do
    not belong together.
    """
    _require_release(evidence, release)
    issue = _issue_fields(evidence.certificate, release, certificate_sha256)
    runs = {one: run for run in evidence.runs for one in run.manifest.results}
    acts = {run.run: _acts(evidence, run) for run in evidence.runs}
    rows = []
    for basis in evidence.results:
        run = runs.get(record_digest(basis))
        if run is None:
            raise RuntimeError(f"result {basis.result.result_id} stands in no manifest of its evidence")
        last = before.get(basis.result.result_id, 0)
        fields = (
            issue
            | _change_fields(last, evidence.certificate.reason)
            | _run_fields(run)
            | dataclasses.asdict(acts[run.run])
            | _result_fields(basis.result, run)
        )
        rows.append(_row(fields))
    for worked in evidence.sums:
        last = before.get(worked.sum_id, 0)
        change = _change_fields(last, evidence.certificate.reason)
        rows.append(_row(issue | change | _sum_fields(worked, evidence, runs, acts)))
    return tuple(rows)


def _row(fields: Mapping[str, Any]) -> ReleasedRow:
    return sealed(ReleasedRow(**fields))


def withdrawn_rows(rows: Iterable[ReleasedRow], reason: str) -> tuple[ReleasedRow, ...]:
    """The last released revisions ``rows`` as withdrawn: the next revision of each, without value and verdict."""
    gone = dict.fromkeys(_WITHDRAWN_EMPTY, "")
    return tuple(
        sealed(
            dataclasses.replace(
                row,
                revision=str(int(row.revision) + 1),
                replaces_revision=row.revision,
                change_kind="withdrawn",
                change_reason=reason,
                reported_kind="not_determined",
                signature_state="revoked",
                **gone,
            )
        )
        for row in rows
    )


def _require_release(evidence: Evidence, release: Signature) -> None:
    statement = release.statement
    if statement.meaning != Meaning.RELEASED or statement.digest != digest(record_bytes(evidence)):
        raise RuntimeError(
            f"certificate {evidence.certificate.number}: the signature is not a release of this evidence"
        )


def _issue_fields(certificate: CertificateFacts, release: Signature, certificate_sha256: Digest) -> dict[str, str]:
    row = certificate.sample.row
    return {
        "client_order_id": row.order,
        "customer_id": certificate.customer.customer,
        "lot_id": row.lot,
        "product": row.product,
        "client_sample_id": row.customer_sample_id,
        "sampled_at": row.sampled_on,
        "received_at": row.received_on,
        "released_by": release.statement.person,
        "released_at": release.statement.at,
        "signature_state": "signed",
        "certificate_no": certificate.number,
        "certificate_kind": certificate.kind,
        "replaces_certificate_no": certificate.replaces,
        "certificate_sha256": certificate_sha256,
    }


def _change_fields(last: int, reason: str) -> dict[str, str]:
    if not last:
        return {"revision": "1", "change_kind": "new"}
    return {
        "revision": str(last + 1),
        "change_kind": "corrected",
        "replaces_revision": str(last),
        "change_reason": reason,
    }


def _run_fields(run: EvidenceRun) -> dict[str, str]:
    return {
        "run_id": run.run,
        "run_version": str(run.version),
        "instrument_id": run.facts.instrument,
        "instrument_serial": run.facts.facts.instrument_serial,
        "run_file_sha256": run.facts.source_sha256,
        "measured_at": run.facts.measured_at,
        "calibration_id": run.manifest.calibration,
        "technique": run.method.technique,
        "wavelength_nm": run.method.wavelength_nm,
    }


def _acts(evidence: Evidence, run: EvidenceRun) -> Acts:
    performed = _signatures(evidence, run, {"submit", "share"}, Meaning.PERFORMED)
    reviewed = _signatures(evidence, run, {"accept"}, Meaning.REVIEWED)
    return Acts(
        analyst_id=" ".join(dict.fromkeys(one.statement.person for one in performed)),
        analyst_name="; ".join(dict.fromkeys(one.statement.printed_name for one in performed)),
        reviewed_by=" ".join(dict.fromkeys(one.statement.person for one in reviewed)),
        reviewed_at=max(one.statement.at for one in reviewed),
    )


def _signatures(evidence: Evidence, run: EvidenceRun, acts: Collection[str], meaning: Meaning) -> tuple[Signature, ...]:
    packets = {
        record_digest(packet)
        for packet in evidence.packets
        if packet.act in acts and any((one.run, one.version) == (run.run, run.version) for one in packet.runs)
    }
    found = [one for one in evidence.signatures if one.statement.meaning == meaning and one.statement.digest in packets]
    if not found:
        raise RuntimeError(f"run {run.run} version {run.version}: the evidence holds no signature {meaning!s}")
    return tuple(sorted(found, key=lambda one: one.statement.at))


def _result_fields(result: WorkedResult, run: EvidenceRun) -> dict[str, str]:
    name, cas_number = _analyte(result)
    return {
        "result_id": result.result_id,
        "lab_sample_id": result.sample,
        "element_symbol": result.element,
        "analyte_name": name,
        "cas_number": cas_number,
        "fraction": result.fraction,
        "basis": result.basis,
        "expressed_as": result.expressed_as,
        "reported_quantity": result.quantity,
        "unit_ucum": ucum_code(result.unit),
        "unit_display": unit_shown(result.unit),
        "detection_limit": result.detection_limit,
        "quantitation_limit": result.quantification_limit,
        "spec_low": result.lower,
        "spec_high": result.upper,
        "verdict": _verdict(result),
        "decision_rule": result.rule if _has_limit(result) else "",
        "dilution_factor": _dilution(result.portions),
        "batch_id": _listed(portion.batch for portion in result.portions),
        "preparation_id": _listed(portion.portion for portion in result.portions),
        "flags": _flags(result, run),
        "method_id": result.method.id,
        "method_version": str(result.method.version),
        "method_sha256": result.method.digest,
        "specification_id": result.specification.id,
        "specification_version": str(result.specification.version),
        "specification_sha256": result.specification.digest,
        "calculation_rules": str(result.calculation_rules),
        "note": result.comment_required,
    } | _value_fields(result.outcome, result.unit)


def _sum_fields(
    worked: WorkedSum, evidence: Evidence, runs: Mapping[Digest, EvidenceRun], acts: Mapping[str, Acts]
) -> dict[str, str]:
    """A sum's own fields; of what belongs to its parts, those all have in common, and the lists that may be lists."""
    named = {part.result_id for part in worked.parts}
    bases = [basis for basis in evidence.results if basis.result.result_id in named]
    own = list({run.run: run for basis in bases if (run := runs.get(record_digest(basis)))}.values())
    if len(bases) != len(named) or not own:
        raise RuntimeError(f"sum {worked.sum_id} rests on results that its evidence does not hold")
    shared = [_run_fields(run) for run in own]
    people = [acts[run.run] for run in own]
    return (
        {name: _common(one[name] for one in shared) for name in shared[0]}
        | {
            "run_id": _listed(run.run for run in own),
            "measured_at": min(run.facts.measured_at for run in own),
            "analyst_id": _listed(name for one in people for name in one.analyst_id.split()),
            "analyst_name": "; ".join(dict.fromkeys(name for one in people for name in one.analyst_name.split("; "))),
            "reviewed_by": _listed(name for one in people for name in one.reviewed_by.split()),
            "reviewed_at": max(one.reviewed_at for one in people),
            "batch_id": _listed(row.batch for basis in bases for row in basis.result.portions),
            "preparation_id": _listed(row.portion for basis in bases for row in basis.result.portions),
            "method_id": _listed(basis.result.method.id for basis in bases),
            "result_id": worked.sum_id,
            "lab_sample_id": worked.sample,
            "analyte_name": _sum_name(worked),
            "sum_elements": " ".join(worked.elements),
            "sum_bound": worked.bound,
            "fraction": worked.fraction,
            "basis": worked.basis,
            "reported_quantity": worked.quantity,
            "unit_ucum": ucum_code(worked.unit),
            "unit_display": unit_shown(worked.unit),
            "spec_high": worked.upper,
            "verdict": _verdict(worked),
            "decision_rule": worked.rule if worked.upper else "",
            "flags": _sum_flags(worked),
            "specification_id": worked.specification.id,
            "specification_version": str(worked.specification.version),
            "specification_sha256": worked.specification.digest,
            "calculation_rules": str(worked.calculation_rules),
            "note": worked.comment_required,
        }
        | _value_fields(worked.outcome, worked.unit)
    )


def _sum_name(worked: WorkedSum) -> str:
    names = [analyte(element)[0] or element for element in worked.elements]
    return f"sum of {', '.join(names[:-1])} and {names[-1]}, {worked.bound.replace('_', ' ')}"


def _sum_flags(worked: WorkedSum) -> str:
    below = [part.is_below for part in worked.parts]
    flags = {
        "comment_required": bool(worked.comment_required),
        "no_part_quantified": all(below),
        "parts_below_limit": any(below) and not all(below),
    }
    return " ".join(flag for flag, holds in flags.items() if holds)


def _common(values: Iterable[str]) -> str:
    """The one value all have; empty where they differ."""
    found = set(values)
    return found.pop() if len(found) == 1 else ""


def _analyte(result: WorkedResult) -> tuple[str, str]:
    """Name and CAS number of what the value is of; a substance the value is given as has no number here."""
    name, cas_number = analyte(result.element)
    if not result.expressed_as:
        return name, cas_number
    return f"{name or result.element} as {result.expressed_as}", ""


def _value_fields(outcome: Outcome, unit: str) -> dict[str, str]:
    match outcome:
        case Quantified():
            value = {
                "reported_kind": "measured",
                "value_text": outcome.value_text,
                "value_number": _number(outcome.value_text),
                "value_unrounded": outcome.value,
            }
            if not outcome.expanded_text:  # a sum nothing of which was quantified, by its lower bound
                return value
            return value | {
                "expanded_uncertainty": outcome.expanded_text,
                "coverage_factor": outcome.k,
                "coverage_probability": _probability(outcome),
                "uncertainty_unit": ucum_code(unit),
            }
        case BelowLimit():
            return {
                "reported_kind": "below_limit",
                "qualifier": "<",
                "value_text": outcome.value_text,
                "value_number": _number(outcome.value_text.removeprefix("<").lstrip()),
                "value_unrounded": outcome.limit,
            }
        case NotReportable():
            return {"reported_kind": "not_determined", "note": outcome.why}
        case _:
            assert_never(outcome)


def _number(text: str) -> str:
    if not is_plain_decimal(text):
        raise RuntimeError(f"certified value {text!r} is not plain decimal text")
    return text


def _probability(outcome: Quantified) -> str:
    few = is_plain_decimal(outcome.df) and Decimal(outcome.df) <= _FEW_DEGREES_OF_FREEDOM
    return "" if few else _PROBABILITY.get(outcome.k, "")


def _has_limit(result: WorkedResult | WorkedSum) -> bool:
    return bool(result.lower or result.upper)


def _verdict(result: WorkedResult | WorkedSum) -> str:
    if result.verdict == "none":
        return "inconclusive" if _has_limit(result) else ""
    return result.verdict.replace(" ", "_")


def _dilution(portions: tuple[WorkedPortion, ...]) -> str:
    factors = _dilutions(portions)
    return factors.pop() if len(factors) == 1 else ""


def _dilutions(portions: tuple[WorkedPortion, ...]) -> set[str]:
    """Dilution factors of the readings that make the result; others, as of a dilution test, have a reason why not."""
    return {portion.dilution for portion in portions if portion.dilution and not portion.why}


def _flags(result: WorkedResult, run: EvidenceRun) -> str:
    """Codes, separated by blanks."""
    flags = {
        result.outcome.code if isinstance(result.outcome, NotReportable) else "": True,
        "calibration_not_recomputable": run.method.signal_is == "instrument_concentration",
        "comment_required": bool(result.comment_required),
        "dilutions_differ": len(_dilutions(result.portions)) > 1,
    }
    return " ".join(flag for flag, holds in flags.items() if flag and holds)


def _listed(names: Iterable[str]) -> str:
    return " ".join(dict.fromkeys(name for name in names if name))
