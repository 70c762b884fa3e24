"""Evidence to released rows: every field against the record it must come from; what does not belong together stops."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from benchseal.export.rows import released_rows, withdrawn_rows
from benchseal.records.canonical import Json, digest, digest_of
from benchseal.records.evidence import (
    CertificateFacts,
    Evidence,
    EvidenceRun,
    Laboratory,
    LeafFacts,
)
from benchseal.records.manifest import Manifest, Packet, PacketRun, ResultBasis
from benchseal.records.method import CalibrationPlan, Method, ReplicateRule, UncertaintyPlan
from benchseal.records.registers import Customer, Sample, SampleRow
from benchseal.records.released import LATER_FIELDS, ROW_FIELDS, ReleasedRow, is_sealed
from benchseal.records.results import (
    BelowLimit,
    Calibration,
    NotReportable,
    Outcome,
    Quantified,
    WorkedPortion,
    WorkedResult,
)
from benchseal.records.run import DocumentRef, RunFacts
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning, Signature, SignatureStatement
from benchseal.records.specification import Specification

METHOD_REF = DocumentRef("lead-furnace", 4, "aa" * 32)
SPECIFICATION_REF = DocumentRef("lozenge", 2, "bb" * 32)
QUANTIFIED = Quantified("quantified", "0.0671234567891", "0.0101", "23.4", "2", "0.067", "0.020")
BELOW = BelowLimit("below_limit", "0.0498765432109", "0.0213", "<0.050")
LOST = NotReportable("not_reportable", "portion_lost", "portion 2 was spilled")

METHOD = Method(
    kind="method",
    id="lead-furnace",
    title="Lead",
    technique="furnace",
    element="Pb",
    wavelength_nm="283.3",
    slit_nm="0.7",
    background_correction="zeeman",
    signal_is="absorbance",
    signal_unit="A.s",
    solution_unit="ug/L",
    file_names=("PB",),
    fraction="total",
    standards=(),
    calibration=CalibrationPlan("line", "none", "readings", 5, "10", "20", "0.995", "invented"),
    replicates=ReplicateRule(3, "10", "1", "invented"),
    checks=(),
    lowest_level="1",
    lowest_level_source="invented",
    detection_level="",
    detection_level_source="",
    blank_subtraction="none",
    uncertainty=UncertaintyPlan("0.0001", "0.1", "0.1", "6", "2", "invented"),
    operating_conditions=(),
    cautions=(),
    references=(),
)
CALIBRATION = Calibration(
    "Pb", "line", "none", "readings", "ug/L", "A.s", 7, 5, ("0", "1"), ("0", "0"), (), "0", "1", "1", "0", "20", ()
)
CERTIFICATE = CertificateFacts(
    number="C-2026-00003",
    kind="original",
    first="C-2026-00003",
    replaces="",
    reason="",
    laboratory=Laboratory("Tern Quay Laboratory", "1 Quay", "Europe/Berlin"),
    customer=Customer("ardlea", "Ardlea", "2 Street", "someone"),
    sample=Sample(
        "S-00007",
        SampleRow("A-1", "Lozenge", "ardlea", "lozenge", "CS-9", "", "", "", "2026-03-01", "2026-02-27", "", "PO-5"),
    ),
    measured_from="2026-03-03",
    measured_to="2026-03-04",
    conclusion="complies",
    deviations=(),
    comments=(),
)


def portion(label: str, dilution: str = "1", batch: str = "B-1") -> WorkedPortion:
    return WorkedPortion(
        batch,
        label,
        9,
        (40,),
        ("0.01",),
        "0.01",
        "2",
        "1.3",
        "0.1",
        "1",
        (),
        dilution,
        "",
        "0.5",
        "25",
        "",
        "",
        "0.067",
        "0.050",
        "",
    )


def result(outcome: Outcome, **changes: Any) -> WorkedResult:  # noqa: ANN401  any field of WorkedResult
    base = WorkedResult(
        result_id="1" * 32,
        sample="S-00007",
        element="Pb",
        fraction="total",
        basis="as_received",
        quantity="content",
        unit="ug/g",
        method=METHOD_REF,
        specification=SPECIFICATION_REF,
        outcome=outcome,
        quantification_limit="0.0498765432109",
        detection_limit="0.015",
        portions=(portion("A-1/1"), portion("A-1/2")),
        contributions=(),
        lower="",
        upper="0.50",
        rule="simple",
        verdict="pass",
        acceptance_lower="",
        acceptance_upper="0.50",
        probability="1",
        comment_required="",
        exceedance_means="investigate",
        calculation_rules=1,
    )
    return dataclasses.replace(base, **changes)


def signed(meaning: Meaning, person: str, what: str, at: str) -> Signature:
    return Signature(
        SignatureStatement("L-1", person, person.title(), "role", meaning, "subject", 1, what, at, "Europe/Berlin"),
        "ee" * 32,
    )


def run_of(bases: tuple[ResultBasis, ...], number: str = "R-00012") -> EvidenceRun:
    digests = tuple(digest(record_bytes(basis)) for basis in bases)
    manifest = Manifest("manifest/1", number, 2, 1, "01" * 32, "02" * 32, "03" * 32, (), digests, "")
    facts = RunFacts("Pb", "283.3", "furnace", "SN-77", "op", "PB", "2026-03-03T10:00:00", "absorbance", "A.s", "", 1)
    leaf = LeafFacts(
        run=number,
        source_sha256="04" * 32,
        layout=DocumentRef("comma-list", 1, "05" * 32),
        method=METHOD_REF,
        facts=facts,
        instrument="furnace-1",
        measured_at="2026-03-03T09:00:00Z",
        standard_lots=(),
        solutions=0,
    )
    return EvidenceRun(number, 2, manifest, METHOD, (), "06" * 32, leaf, (), CALIBRATION, ())


def evidence(*results: WorkedResult, certificate: CertificateFacts = CERTIFICATE) -> Evidence:
    bases = tuple(ResultBasis("result-basis/1", one, (), "03" * 32, (), (), (), "07" * 32) for one in results)
    run = run_of(bases)
    packets = tuple(
        Packet("packet/1", act, (PacketRun(run.run, run.version, "08" * 32),)) for act in ("submit", "accept")
    )
    submit, accept = (digest(record_bytes(packet)) for packet in packets)
    signatures = (
        signed(Meaning.REVIEWED, "rolf", accept, "2026-03-04T08:00:00.000Z"),
        signed(Meaning.PERFORMED, "nora", submit, "2026-03-03T15:00:00.000Z"),
        signed(Meaning.PERFORMED, "ines", submit, "2026-03-03T14:00:00.000Z"),
        signed(Meaning.PERFORMED, "stranger", "09" * 32, "2026-03-03T13:00:00.000Z"),  # of another packet
        signed(Meaning.APPROVED, "quinn", "0a" * 32, "2026-03-04T09:00:00.000Z"),
    )
    specification = Specification("specification", "lozenge", "", "Lozenge", "ardlea", "lozenge", "", ())
    return Evidence(
        "evidence/1",
        "benchseal 0.1.0",
        1,
        1,
        "L-1",
        certificate,
        specification,
        SPECIFICATION_REF,
        (run,),
        (),
        (),
        bases,
        (),
        packets,
        signatures,
    )


def rows_of(held: Evidence, before: dict[str, int] | None = None) -> tuple[ReleasedRow, ...]:
    release = signed(Meaning.RELEASED, "quinn", digest(record_bytes(held)), "2026-03-04T10:00:00.000Z")
    return released_rows(held, release, "ff" * 32, before or {})


def test_every_field_of_a_measured_result() -> None:
    (row,) = rows_of(evidence(result(QUANTIFIED)))
    expected = {
        "result_id": "1" * 32, "revision": "1", "change_kind": "new",
        "client_order_id": "PO-5", "customer_id": "ardlea", "lot_id": "A-1", "product": "Lozenge",
        "lab_sample_id": "S-00007", "client_sample_id": "CS-9", "sampled_at": "2026-02-27", "received_at": "2026-03-01",
        "element_symbol": "Pb", "analyte_name": "lead", "cas_number": "7439-92-1", "fraction": "total",
        "reported_quantity": "content", "reported_kind": "measured", "value_text": "0.067", "value_number": "0.067",
        "value_unrounded": "0.0671234567891", "unit_ucum": "ug/g", "unit_display": "µg/g", "basis": "as_received",
        "expanded_uncertainty": "0.020", "coverage_factor": "2", "coverage_probability": "0.95",
        "uncertainty_unit": "ug/g", "detection_limit": "0.015", "quantitation_limit": "0.0498765432109",
        "dilution_factor": "1", "spec_high": "0.50", "verdict": "pass", "decision_rule": "simple",
        "method_id": "lead-furnace", "method_version": "4", "method_sha256": "aa" * 32, "technique": "furnace",
        "wavelength_nm": "283.3", "specification_id": "lozenge", "specification_version": "2",
        "specification_sha256": "bb" * 32, "run_id": "R-00012", "run_version": "2", "batch_id": "B-1",
        "preparation_id": "A-1/1 A-1/2", "instrument_id": "furnace-1", "instrument_serial": "SN-77",
        "run_file_sha256": "04" * 32, "measured_at": "2026-03-03T09:00:00Z", "calibration_id": "03" * 32,
        "calculation_rules": "1", "analyst_id": "ines nora", "analyst_name": "Ines; Nora", "reviewed_by": "rolf",
        "reviewed_at": "2026-03-04T08:00:00.000Z", "released_by": "quinn", "released_at": "2026-03-04T10:00:00.000Z",
        "signature_state": "signed", "certificate_no": "C-2026-00003", "certificate_kind": "original",
        "certificate_sha256": "ff" * 32,
    }  # fmt: skip
    held = {name: getattr(row, name) for name in ROW_FIELDS if getattr(row, name) and name != "record_sha256"}
    assert held == expected
    assert is_sealed(row)


def test_basis_and_substance_of_a_value_reach_the_row() -> None:
    (row,) = rows_of(
        evidence(result(QUANTIFIED, basis="dry", expressed_as="Pb(NO3)2", expression_factor="1.59849420849"))
    )
    assert (row.basis, row.expressed_as, row.element_symbol) == ("dry", "Pb(NO3)2", "Pb")
    assert (row.analyte_name, row.cas_number) == ("lead as Pb(NO3)2", "")
    assert is_sealed(row)
    assert not is_sealed(dataclasses.replace(row, expressed_as=""))


def test_the_digest_of_a_row_leaves_out_what_came_later_and_is_empty() -> None:
    """A receiver that knows the earlier fields only recomputes it."""
    (row,) = rows_of(evidence(result(QUANTIFIED)))
    earlier: dict[str, Json] = {
        name: getattr(row, name) for name in ROW_FIELDS if name not in {"record_sha256", *LATER_FIELDS}
    }
    assert row.record_sha256 == digest_of(earlier)


def test_below_limit_needs_no_parsing_and_keeps_its_value_for_the_record() -> None:
    (row,) = rows_of(evidence(result(BELOW)))
    assert (row.reported_kind, row.qualifier, row.value_text) == ("below_limit", "<", "<0.050")
    assert (row.value_number, row.value_unrounded) == ("0.050", "0.0498765432109")
    assert (row.expanded_uncertainty, row.coverage_factor, row.uncertainty_unit) == ("", "", "")
    assert all(BELOW.value not in str(getattr(row, name)) for name in ROW_FIELDS)


def test_not_reportable_has_no_number_and_says_why() -> None:
    (row,) = rows_of(evidence(result(LOST, verdict="none", comment_required="talk to the customer")))
    assert row.reported_kind == "not_determined"
    assert (row.qualifier, row.value_text, row.value_number, row.value_unrounded) == ("", "", "", "")
    assert (row.flags, row.note) == ("portion_lost comment_required", "portion 2 was spilled")
    assert row.verdict == "inconclusive"


@pytest.mark.parametrize(
    ("changes", "verdict", "rule"),
    [
        ({"verdict": "conditional fail"}, "conditional_fail", "simple"),
        ({"verdict": "fail"}, "fail", "simple"),
        ({"verdict": "none", "upper": ""}, "", ""),
        ({"verdict": "none", "lower": "0.1", "upper": ""}, "inconclusive", "simple"),
    ],
)
def test_verdicts(changes: dict[str, str], verdict: str, rule: str) -> None:
    (row,) = rows_of(evidence(result(QUANTIFIED, **changes)))
    assert (row.verdict, row.decision_rule) == (verdict, rule)


@pytest.mark.parametrize(
    ("k", "df", "probability"),
    [("2", "23.4", "0.95"), ("3", "", "0.99"), ("2", "10", ""), ("2.1", "50", ""), ("1", "50", "")],
)
def test_a_coverage_probability_is_said_only_where_it_can_be(k: str, df: str, probability: str) -> None:
    (row,) = rows_of(evidence(result(dataclasses.replace(QUANTIFIED, k=k, df=df))))
    assert row.coverage_probability == probability


def test_one_dilution_factor_only_where_the_portions_share_it() -> None:
    (row,) = rows_of(evidence(result(QUANTIFIED, portions=(portion("a", "10"), portion("b", "1", "B-2")))))
    assert (row.dilution_factor, row.flags, row.batch_id) == ("", "dilutions_differ", "B-1 B-2")


def test_readings_that_do_not_count_have_no_say_in_the_dilution() -> None:
    unused = dataclasses.replace(portion("a", "1000"), value="", why="a dilution test")
    counted = (portion("a", "200"), portion("b", "200"))
    (row,) = rows_of(evidence(result(QUANTIFIED, portions=(*counted, unused))))
    assert (row.dilution_factor, row.flags) == ("200", "")
    lost = result(LOST, verdict="none", portions=(unused,))
    (row,) = rows_of(evidence(lost))
    assert (row.dilution_factor, row.flags) == ("", "portion_lost")


def test_a_certified_value_that_is_no_number_is_our_bug() -> None:
    with pytest.raises(RuntimeError, match="not plain decimal"):
        rows_of(evidence(result(dataclasses.replace(QUANTIFIED, value_text="0,067"))))


def test_a_result_released_before_is_corrected_and_says_what_it_replaces() -> None:
    amended = dataclasses.replace(
        CERTIFICATE, number="C-2026-00008", kind="amendment", replaces=CERTIFICATE.number, reason="mass typed wrong"
    )
    other = result(BELOW, result_id="2" * 32, element="Cd")
    first, second = rows_of(evidence(result(QUANTIFIED), other, certificate=amended), {"1" * 32: 3})
    assert (first.change_kind, first.revision, first.replaces_revision) == ("corrected", "4", "3")
    assert (first.change_reason, first.replaces_certificate_no) == ("mass typed wrong", "C-2026-00003")
    assert (second.change_kind, second.revision, second.replaces_revision, second.change_reason) == ("new", "1", "", "")


def test_a_supplement_sends_its_own_and_a_withdrawn_one_as_corrected() -> None:
    supplement = dataclasses.replace(CERTIFICATE, number="C-2026-00009", kind="supplement")
    held = evidence(result(QUANTIFIED), result(BELOW, result_id="2" * 32, element="Ni"), certificate=supplement)
    rows = rows_of(held, {"1" * 32: 2})
    assert [(row.element_symbol, row.change_kind, row.revision) for row in rows][1] == ("Ni", "new", "1")
    assert (rows[0].change_kind, rows[0].revision, rows[0].replaces_revision) == ("corrected", "3", "2")


def test_withdrawn_rows_keep_who_and_what_and_lose_the_value() -> None:
    (row,) = rows_of(evidence(result(QUANTIFIED)))
    (gone,) = withdrawn_rows([row], "sample exchanged")
    assert (gone.change_kind, gone.revision, gone.replaces_revision) == ("withdrawn", "2", "1")
    assert (gone.change_reason, gone.signature_state, gone.reported_kind) == (
        "sample exchanged",
        "revoked",
        "not_determined",
    )
    assert (gone.result_id, gone.certificate_no, gone.lot_id) == (row.result_id, row.certificate_no, row.lot_id)
    for name in ROW_FIELDS:
        assert name == "quantitation_limit" or "0.067" not in str(getattr(gone, name))
    assert (gone.value_text, gone.expanded_uncertainty, gone.verdict) == ("", "", "")
    assert is_sealed(gone)
    assert gone.record_sha256 != row.record_sha256


@pytest.mark.parametrize("name", [name for name in ROW_FIELDS if name != "record_sha256"])
def test_the_seal_of_a_row_covers_every_field(name: str) -> None:
    (row,) = rows_of(evidence(result(QUANTIFIED)))
    changed: dict[str, Any] = {name: f"{getattr(row, name)}x"}
    assert not is_sealed(dataclasses.replace(row, **changed))


def test_signatures_on_another_version_of_the_run_do_not_count() -> None:
    held = evidence(result(QUANTIFIED))
    earlier = Packet("packet/1", "submit", (PacketRun("R-00012", 1, "0b" * 32), PacketRun("R-00011", 2, "0c" * 32)))
    by_somebody = signed(Meaning.PERFORMED, "otto", digest(record_bytes(earlier)), "2026-03-02T15:00:00.000Z")
    both = dataclasses.replace(held, packets=(*held.packets, earlier), signatures=(*held.signatures, by_somebody))
    assert rows_of(both)[0].analyst_id == "ines nora"


def test_a_signature_over_other_evidence_is_our_bug() -> None:
    held = evidence(result(QUANTIFIED))
    for release in (
        signed(Meaning.RELEASED, "quinn", "00" * 32, "2026-03-04T10:00:00.000Z"),
        signed(Meaning.APPROVED, "quinn", digest(record_bytes(held)), "2026-03-04T10:00:00.000Z"),
    ):
        with pytest.raises(RuntimeError, match="not a release of this evidence"):
            released_rows(held, release, "ff" * 32, {})


def test_a_result_in_no_manifest_is_our_bug() -> None:
    held = evidence(result(QUANTIFIED))
    strange = dataclasses.replace(held, runs=(run_of(()),))
    with pytest.raises(RuntimeError, match="stands in no manifest"):
        rows_of(strange)


@pytest.mark.parametrize("missing", [Meaning.PERFORMED, Meaning.REVIEWED])
def test_a_run_nobody_measured_or_reviewed_is_our_bug(missing: Meaning) -> None:
    held = evidence(result(QUANTIFIED))
    without = dataclasses.replace(
        held, signatures=tuple(one for one in held.signatures if one.statement.meaning != missing)
    )
    with pytest.raises(RuntimeError, match=f"no signature {missing}"):
        rows_of(without)


def test_whoever_signed_their_share_is_named_beside_whoever_submitted() -> None:
    held = evidence(result(QUANTIFIED))
    run = held.runs[0]
    listed = PacketRun(run.run, run.version, digest(record_bytes(run.manifest)))
    share = Packet("packet/1", "share", (listed,))
    by_otto = signed(Meaning.PERFORMED, "otto", digest(record_bytes(share)), "2026-03-02T15:00:00.000Z")
    both = dataclasses.replace(held, packets=(*held.packets, share), signatures=(*held.signatures, by_otto))
    assert sorted(rows_of(both)[0].analyst_id.split()) == ["ines", "nora", "otto"]
