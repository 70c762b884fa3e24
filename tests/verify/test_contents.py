"""The outside check on the two files inside: a genuine pair, then a table of lies, each caught and named.

Lies told before signing are consistent ever after (the liar holds every key); only what is told against the readings
remains. Lies told later break a digest. Everything is invented.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.verify.making import NUMBER, THEIRS, Made, Plan, bench, make, one_reading_changed, parts_of, trust

from benchseal.certificate.evidence import content_digest, content_digest_of
from benchseal.certificate.present import with_printed
from benchseal.records.canonical import canonical_bytes, parse_json
from benchseal.records.evidence import ClearSolution, Evidence, PrintedResult, Supplement
from benchseal.records.results import Quantified, RunWork
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning, SignatureStatement
from benchseal.verify.certificate import contents_checks
from benchseal.verify.report import Report

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.records.run import Run
    from benchseal.verify.trust import Trust

FOREIGN = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))


@pytest.fixture(scope="module")
def genuine() -> Made:
    return make()


def report_on(made: Made, pages: tuple[str, ...] | None = None, trusted: Trust | None = None) -> Report:
    checks = contents_checks(
        made.evidence_bytes, made.supplement_bytes, made.pages() if pages is None else pages, trusted or trust()
    )
    return Report(checks)


def failed(report: Report) -> dict[str, str]:
    """Name to words of every check that does not hold."""
    return {check.name: check.said for check in report.checks if check.holds is False}


@pytest.mark.clause("17025 7.5", "17025 7.8.6")
def test_a_genuine_pair_is_genuine(genuine: Made) -> None:
    report = report_on(genuine)
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    assert len(report.checks) == 17


def test_the_digest_approved_is_cut_out_of_the_file_as_it_is_written_anew(genuine: Made) -> None:
    """With the signatures of the file, with none, and where the same words stand twice."""
    evidence = genuine.evidence
    assert evidence.signatures
    odd = replace(evidence, ledger='"signatures":[]', program='x","signatures":[],"y":"')
    for one in (evidence, replace(evidence, signatures=()), odd, replace(odd, signatures=())):
        assert content_digest_of(record_bytes(one), one) == content_digest(one)
    twice = record_bytes(evidence) * 2  # no file, but what it is looked for in
    assert content_digest_of(twice, evidence) == content_digest(evidence)


def test_other_solutions_stay_hidden_and_the_brackets_still_hold(genuine: Made) -> None:
    lead = genuine.evidence.runs[0]
    assert lead.facts.solutions - len(lead.clear) == 3
    assert [check.verdict for check in lead.checks if check.check == "check_standard"] == ["pass", "pass"]


# Lies before signing: every digest, signature and proof is made of the lie.


def _value_raised(work: RunWork) -> RunWork:
    return replace(
        work,
        results=tuple(
            replace(one, outcome=replace(one.outcome, value="0.199", value_text="0.199"))
            if isinstance(one.outcome, Quantified)
            else one
            for one in work.results
        ),
    )


def _slope_changed(work: RunWork) -> RunWork:
    curve = work.calibration
    return replace(work, calibration=replace(curve, coefficients=(curve.coefficients[0], "0.0030")))


def _check_passed(work: RunWork) -> RunWork:
    return replace(
        work,
        checks=tuple(replace(one, found="100.5") if one.check == "check_standard" else one for one in work.checks),
    )


def _probability_changed(work: RunWork) -> RunWork:
    return replace(work, results=tuple(replace(one, probability="0.5") for one in work.results))


def _reading_left_out(run: Run) -> Run:
    """A check standard that is said not to have been one."""
    kinds = ["rinse" if kind == "check_standard" else kind for kind in run.document.solutions.kind]
    return replace(
        run,
        document=replace(run.document, solutions=replace(run.document.solutions, kind=tuple(kinds))),
    )


def _results_swapped(evidence: Evidence) -> Evidence:
    return with_printed(replace(evidence, results=evidence.results[::-1]))


def _one_result_left_out(evidence: Evidence) -> Evidence:
    return replace(evidence, results=evidence.results[:1], printed=evidence.printed[:1], runs=evidence.runs[:1])


def _one_result_twice(evidence: Evidence) -> Evidence:
    return with_printed(replace(evidence, results=(*evidence.results, evidence.results[0])))


def _concludes(evidence: Evidence) -> Evidence:
    facts = replace(evidence.certificate, conclusion="does not comply with the specification")
    return replace(evidence, certificate=facts)


def _other_day(evidence: Evidence) -> Evidence:
    return replace(evidence, certificate=replace(evidence.certificate, measured_to="2026-03-09"))


def _other_sample(evidence: Evidence) -> Evidence:
    sample = replace(evidence.certificate.sample, sample="S-00009")
    return replace(evidence, certificate=replace(evidence.certificate, sample=sample))


def _limit_moved(evidence: Evidence) -> Evidence:
    lines = tuple(replace(one, upper="5.0") for one in evidence.specification.requirements)
    return replace(evidence, specification=replace(evidence.specification, requirements=lines))


def _method_softened(evidence: Evidence) -> Evidence:
    first = evidence.runs[0]
    method = replace(first.method, replicates=replace(first.method.replicates, largest_rsd_percent="90"))
    return replace(evidence, runs=(replace(first, method=method), *evidence.runs[1:]))


def _mass_changed(evidence: Evidence) -> Evidence:
    portions = tuple(replace(one, mass_g="0.6000") if one.portion == "T-A1/1" else one for one in evidence.portions)
    return replace(evidence, portions=portions)


def _standard_better(evidence: Evidence) -> Evidence:
    return replace(evidence, standard_lots=tuple(replace(one, u_percent="0.1") for one in evidence.standard_lots))


def _check_left_out(evidence: Evidence) -> Evidence:
    first = evidence.runs[0]
    kept = tuple(check for check in first.checks if check.check != "method_blank")
    return replace(evidence, runs=(replace(first, checks=kept), *evidence.runs[1:]))


def _reading_changed_in_evidence(evidence: Evidence) -> Evidence:
    first = evidence.runs[0]
    shown = first.clear[0]
    reading = replace(shown.solution.readings[0], signal="0.0020000")
    solution = replace(shown.solution, readings=(reading, *shown.solution.readings[1:]))
    clear = (replace(shown, solution=solution), *first.clear[1:])
    return replace(evidence, runs=(replace(first, clear=clear), *evidence.runs[1:]))


def _another_customers_solution(evidence: Evidence) -> Evidence:
    blocks = parts_of(Plan())[0].blocks
    pairs = zip(blocks.salts, blocks.solutions, strict=True)
    every = tuple(ClearSolution(salt, solution) for salt, solution in pairs)
    found = [portion for portion in bench().portions.values() if portion.sample == THEIRS]
    first = replace(evidence.runs[0], clear=every)
    return replace(evidence, runs=(first, *evidence.runs[1:]), portions=(*evidence.portions, *found))


def _row_told_otherwise(evidence: Evidence) -> Evidence:
    told = PrintedResult(evidence.printed[0].result_id, ("Lead", "0.1", "µg/g"))
    return replace(evidence, printed=(told, *evidence.printed[1:]))


def _basis_foreign(evidence: Evidence) -> Evidence:
    basis = replace(evidence.results[0], blind="0" * 64)
    return replace(evidence, results=(basis, *evidence.results[1:]))


def _role(statement: SignatureStatement) -> SignatureStatement:
    return replace(statement, role="analyst") if statement.meaning == Meaning.REVIEWED else statement


def _version(statement: SignatureStatement) -> SignatureStatement:
    return replace(statement, version=2) if statement.meaning == Meaning.APPROVED else statement


def _ledger(statement: SignatureStatement) -> SignatureStatement:
    return replace(statement, ledger="bs-other") if statement.meaning == Meaning.PERFORMED else statement


def _only_returned(statement: SignatureStatement) -> SignatureStatement:
    told = statement.meaning == Meaning.REVIEWED
    return replace(statement, meaning=Meaning.RETURNED.value) if told else statement


def _subject(statement: SignatureStatement) -> SignatureStatement:
    told = statement.meaning == Meaning.RELEASED
    return replace(statement, subject="certificate/C-2026-00001") if told else statement


def _approved_first(entries: list[Entry]) -> list[Entry]:
    """The approval moved before the submissions."""
    place = next(at for at, entry in enumerate(entries) if entry.kind == "certificate.approved")
    moved = [entries[place], *entries[:place], *entries[place + 1 :]]
    return [replace(entry, seq=seq) for seq, entry in enumerate(moved, start=1)]


def _entry_of_another_person(entries: list[Entry]) -> list[Entry]:
    return [replace(one, actor="p-else") if one.kind == "certificate.approved" else one for one in entries]


def _entry_of_other_evidence(entries: list[Entry]) -> list[Entry]:
    return [
        replace(one, digests={"evidence": "0" * 64}) if one.kind == "certificate.sealing" else one for one in entries
    ]


def people(**who: str) -> tuple[tuple[Meaning, str], ...]:
    usual = dict(Plan().people)
    return tuple((meaning, who.get(meaning.value, name)) for meaning, name in usual.items())


ONLY = {"recalculation"}
BEFORE_SIGNING = [
    pytest.param(Plan(work=_value_raised), ONLY, "lead", id="a result the readings do not give"),
    pytest.param(Plan(work=_slope_changed), ONLY, "coefficients", id="a curve the readings do not give"),
    pytest.param(Plan(work=_check_passed), ONLY, "check-standard", id="a check the readings do not give"),
    pytest.param(Plan(work=_probability_changed), ONLY, "probability", id="a probability made up"),
    pytest.param(Plan(filed=one_reading_changed), ONLY, "lead", id="one reading changed in the tree"),
    pytest.param(Plan(filed=_reading_left_out), ONLY, "check", id="check standards said to be rinses"),
    pytest.param(Plan(content=_results_swapped), {"results asked for"}, "differ", id="results swapped"),
    pytest.param(Plan(content=_one_result_left_out), {"results asked for"}, "Cd", id="a result left out"),
    pytest.param(
        Plan(content=_one_result_twice), {"results asked for", "manifests"}, "twice", id="a result given twice"
    ),
    pytest.param(Plan(content=_concludes), {"results asked for"}, "concludes", id="another conclusion"),
    pytest.param(Plan(content=_other_day), {"results asked for"}, "measured", id="another day of measurement"),
    pytest.param(Plan(content=_other_sample), {"manifests"}, "S-00001", id="another sample's number"),
    pytest.param(Plan(content=_limit_moved), {"documents"}, "specification", id="a limit moved"),
    pytest.param(Plan(content=_method_softened), {"documents"}, "pb-furnace", id="a method's rule softened"),
    pytest.param(Plan(content=_mass_changed), {"manifests", "recalculation"}, "rest on", id="a mass changed"),
    pytest.param(Plan(content=_standard_better), {"manifests", "recalculation"}, "rest on", id="a standard improved"),
    pytest.param(Plan(content=_check_left_out), {"manifests", "recalculation"}, "method-blank", id="a check left out"),
    pytest.param(
        Plan(content=_reading_changed_in_evidence),
        {"readings", "recalculation"},
        "position 1",
        id="one reading changed",
    ),
    pytest.param(
        Plan(content=_another_customers_solution),
        {"readings"},
        "another sample",
        id="another customer's solution shown",
    ),
    pytest.param(Plan(content=_row_told_otherwise), {"printed rows"}, "printed", id="a row told otherwise"),
    pytest.param(Plan(content=_basis_foreign), {"manifests"}, "none of the manifests", id="a basis nobody signed"),
    pytest.param(
        Plan(people=people(reviewed="p-ines.falkner")), {"separate people"}, "measured", id="reviewer is performer"
    ),
    pytest.param(
        Plan(people=people(approved="p-ines.falkner")), {"separate people"}, "measured", id="approver is performer"
    ),
    pytest.param(
        Plan(people=people(reviewed="p-jonas.lind")), {"separate people"}, "reviewed", id="reviewer is approver"
    ),
    pytest.param(
        Plan(people=people(released="p-maren.oduya")), {"separate people"}, "released", id="reviewer releases"
    ),
    pytest.param(
        Plan(people=people(performed="p-second", approved="p-ines.falkner")),
        {"separate people"},
        "prepared",
        id="approver prepared the portions",
    ),
    pytest.param(Plan(without=frozenset({Meaning.REVIEWED})), {"signatures"}, "as reviewed", id="nobody reviewed"),
    pytest.param(Plan(without=frozenset({Meaning.PERFORMED})), {"signatures"}, "as performed", id="nobody performed"),
    pytest.param(Plan(without=frozenset({Meaning.APPROVED})), {"signatures"}, "approved", id="nobody approved"),
    pytest.param(Plan(approved="0" * 64), {"signatures"}, NUMBER, id="approval of other content"),
    pytest.param(Plan(statement=_role), {"signatures"}, "analyst", id="reviewed in another role"),
    pytest.param(Plan(statement=_version), {"signatures"}, "version 2", id="another version approved"),
    pytest.param(Plan(statement=_ledger), {"signatures"}, "bs-other", id="signature of another ledger"),
    pytest.param(Plan(statement=_only_returned), {"signatures"}, "nothing", id="returned, not reviewed"),
    pytest.param(Plan(statement=_subject), {"signatures"}, "C-2026-00001", id="release of another certificate"),
    pytest.param(Plan(entries=_approved_first), {"ledger entries"}, "before", id="approved before it was reviewed"),
    pytest.param(Plan(entries=_entry_of_another_person), {"ledger entries"}, "jonas", id="entry by another person"),
    pytest.param(Plan(entries=_entry_of_other_evidence), {"ledger entries"}, "jonas", id="release of other evidence"),
    pytest.param(Plan(shown=frozenset({5})), {"ledger entries"}, "entry 5", id="an entry too many"),
]


@pytest.mark.refuses("P11 11.70", "17025 7.8.1.1", "17025 7.8.6")
@pytest.mark.parametrize(("plan", "names", "words"), BEFORE_SIGNING)
def test_a_lie_told_before_signing_is_named(plan: Plan, names: set[str], words: str) -> None:
    report = report_on(make(plan))
    found = failed(report)
    assert (report.word, report.exit_code) == ("ALTERED", 6)
    assert names <= found.keys(), found
    assert words in " ".join(found.values()), found


@pytest.mark.parametrize(
    "plan", [pytest.param(case.values[0], id=str(case.id)) for case in BEFORE_SIGNING if case.values[1] == ONLY]
)
def test_where_everything_else_fits_only_the_calculation_finds_the_lie(plan: Plan) -> None:
    assert failed(report_on(make(plan))).keys() == {"recalculation"}


# Lies after signing.


def _path_swapped(supplement: Supplement) -> Supplement:
    first, second, *rest = supplement.entries
    return replace(supplement, entries=(replace(first, path=second.path), replace(second, path=first.path), *rest))


def _entry_instead_of_another(supplement: Supplement) -> Supplement:
    return replace(supplement, entries=(supplement.entries[1], *supplement.entries[1:]))


def _entry_missing(supplement: Supplement) -> Supplement:
    return replace(supplement, entries=supplement.entries[:-1])


def _entry_altered(supplement: Supplement) -> Supplement:
    last = supplement.entries[-1]
    told = replace(last, body=last.body.replace('"reason":""', '"reason":"agreed"'))
    return replace(supplement, entries=(*supplement.entries[:-1], told))


def _head_later(supplement: Supplement) -> Supplement:
    return replace(supplement, checkpoint=replace(supplement.checkpoint, at="2026-03-05T15:00:00.000Z"))


def _head_of_other_ledger(supplement: Supplement) -> Supplement:
    return replace(supplement, checkpoint=replace(supplement.checkpoint, ledger="bs-other"))


def _not_hexadecimal(supplement: Supplement) -> Supplement:
    return replace(supplement, checkpoint=replace(supplement.checkpoint, root="not a root"))


def _release_of_another(supplement: Supplement) -> Supplement:
    statement = replace(supplement.release.statement, person="p-else")
    return replace(supplement, release=replace(supplement.release, statement=statement))


def _comment(evidence: Evidence) -> Evidence:
    return replace(evidence, certificate=replace(evidence.certificate, comments=("All is well.",)))


AFTER_SIGNING = [
    pytest.param(Plan(evidence=_comment), {"signatures"}, "certificate", id="a comment added after approval"),
    pytest.param(Plan(supplement=_path_swapped), {"ledger entries"}, "tree", id="proofs swapped"),
    pytest.param(Plan(supplement=_entry_instead_of_another), {"ledger entries"}, "ines", id="proof of another entry"),
    pytest.param(Plan(supplement=_entry_missing), {"ledger entries"}, "jonas", id="an entry missing"),
    pytest.param(Plan(supplement=_entry_altered), {"ledger entries"}, "tree", id="an entry altered"),
    pytest.param(Plan(supplement=_head_later), {"checkpoint"}, "signature", id="checkpoint altered"),
    pytest.param(Plan(supplement=_head_of_other_ledger), {"checkpoint"}, "bs-other", id="checkpoint of another ledger"),
    pytest.param(Plan(supplement=_not_hexadecimal), {"checkpoint", "ledger entries"}, "hexadecimal", id="no root"),
    pytest.param(Plan(supplement=_release_of_another), {"signatures"}, "p-else", id="release by somebody else"),
]


@pytest.mark.refuses("P11 11.70")
@pytest.mark.parametrize(("plan", "names", "words"), AFTER_SIGNING)
def test_a_lie_told_after_signing_is_named(plan: Plan, names: set[str], words: str) -> None:
    report = report_on(make(plan))
    found = failed(report)
    assert report.word == "ALTERED"
    assert names <= found.keys(), found
    assert words in " ".join(found.values()), found


@pytest.mark.refuses("P11 11.70")
def test_the_supplement_of_another_certificate(genuine: Made) -> None:
    other = make(Plan(content=_comment))
    pages = genuine.pages()
    checks = contents_checks(genuine.evidence_bytes, other.supplement_bytes, pages, trust())
    assert {"supplement of this evidence", "signatures"} <= failed(Report(checks)).keys()


# The page.


def _other_value(page: str) -> str:
    return page.replace("0.249", "0.149")


def _rows_swapped(page: str) -> str:
    lines = page.split("\n")
    lead, cadmium = (next(at for at, line in enumerate(lines) if line.startswith(name)) for name in ("Lead", "Cad"))
    lines[lead], lines[cadmium] = lines[cadmium], lines[lead]
    return "\n".join(lines)


@pytest.mark.refuses("P11 11.50(b)", "17025 7.8.6", "17025 7.8.2.2")
@pytest.mark.parametrize(
    ("change", "name"),
    [
        pytest.param(
            lambda page: page.replace("product, lot, designation", "designation"),
            "printed words",
            id="what the customer states passed off as the laboratory's",
        ),
        pytest.param(
            lambda page: page.replace("Sampled by the customer", "Sampled by the laboratory"),
            "printed words",
            id="who sampled",
        ),
        pytest.param(_other_value, "printed rows", id="another value"),
        pytest.param(_rows_swapped, "printed rows", id="rows in another order"),
        pytest.param(lambda page: page.replace("does not move", "moves"), "printed words", id="another decision rule"),
        pytest.param(lambda page: page.replace("comply with", "comply without"), "printed words", id="conclusion"),
        pytest.param(lambda page: page.replace("Alder & Finch", "Other & Sons"), "printed words", id="customer"),
        pytest.param(lambda page: page.replace("Maren Oduya", "Maren Odoya"), "printed words", id="reviewer's name"),
        pytest.param(lambda page: page.replace(NUMBER, "C-2026-00008"), "printed words", id="number"),
    ],
)
def test_a_page_that_says_otherwise_is_named(genuine: Made, change: Callable[[str], str], name: str) -> None:
    (page,) = genuine.pages()
    changed = change(page)
    assert changed != page
    assert failed(report_on(genuine, (changed,))).keys() == {name}


def test_a_page_that_hides_a_missing_background_correction_is_named() -> None:
    def bare(content: Evidence) -> Evidence:
        method = replace(content.runs[0].method, background_correction="none", uncorrected_because="clean acid")
        return replace(content, runs=(replace(content.runs[0], method=method), *content.runs[1:]))

    made = make(Plan(content=bare))
    (page,) = made.pages()
    said = made.view().uncorrected
    assert said in page
    assert "printed words" not in failed(report_on(made))
    assert "background" in failed(report_on(made, (page.replace(said, ""),)))["printed words"]


def test_an_empty_page_is_named(genuine: Made) -> None:
    assert failed(report_on(genuine, ())).keys() == {"printed language", "printed rows", "printed words"}


# What cannot be decided.


def test_other_calculation_rules_are_unknown_with_both_numbers() -> None:
    report = report_on(make(Plan(rules=2)))
    said = {check.name: check.said for check in report.checks if check.holds is None}
    assert (report.word, report.exit_code) == ("UNKNOWN", 3), report.lines()
    assert said.keys() == {"calculation rules", "recalculation"}
    assert "rules 2" in said["calculation rules"]
    assert "rules 1" in said["calculation rules"]


def test_rules_that_differ_inside_the_evidence_are_altered() -> None:
    report = report_on(make(Plan(content=lambda evidence: replace(evidence, calculation_rules=2))))
    assert "calculation rules" in failed(report)


def test_a_foreign_checkpoint_key_is_unknown() -> None:
    report = report_on(make(Plan(key=FOREIGN)))
    assert report.word == "UNKNOWN"
    assert [check.name for check in report.checks if check.holds is None] == ["checkpoint"]


def test_the_trust_file_of_another_ledger_is_unknown(genuine: Made) -> None:
    report = report_on(genuine, trusted=trust(ledger="bs-other"))
    assert report.word == "UNKNOWN"
    assert "bs-other" in next(check.said for check in report.checks if check.holds is None)


def test_another_schema_is_unknown_and_named(genuine: Made) -> None:
    later = genuine.evidence_bytes.replace(b'"evidence/1"', b'"evidence/2"')
    report = Report(contents_checks(later, genuine.supplement_bytes, genuine.pages(), trust()))
    assert report.word == "UNKNOWN"
    assert "evidence/2" in report.checks[0].said


# Forms.


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param(lambda data: data + b"\n", "canonical", id="a line end after it"),
        pytest.param(lambda data: data.replace(b'":', b'": ', 1), "canonical", id="a blank"),
        pytest.param(lambda data: data[: len(data) // 2], "canonical", id="cut off"),
        pytest.param(lambda _: b"", "canonical", id="empty"),
        pytest.param(lambda _: b"\xff\xfe", "canonical", id="no text"),
        pytest.param(lambda _: b"[" * 100_000, "canonical", id="nested without end"),
    ],
)
def test_a_form_that_is_not_canonical_is_altered(genuine: Made, change: Callable[[bytes], bytes], words: str) -> None:
    report = Report(contents_checks(change(genuine.evidence_bytes), genuine.supplement_bytes, (), trust()))
    assert report.word == "ALTERED"
    assert words in report.checks[0].said


def changed(genuine: Made, path: tuple[str, ...], value: Json) -> Report:
    told = parse_json(genuine.evidence_bytes)
    inner: Any = told
    for name in path[:-1]:
        inner = inner[name]
    inner[path[-1]] = value
    return Report(contents_checks(canonical_bytes(told), genuine.supplement_bytes, (), trust()))


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        pytest.param(("ledger",), None, "ledger", id="a field of another type"),
        pytest.param(("certificate", "kind"), "copy", "kind", id="a word not in the list"),
        pytest.param(("surplus",), "x", "surplus", id="a field too many"),
    ],
)
def test_evidence_of_another_form_is_not_called_altered(
    genuine: Made, path: tuple[str, ...], value: Json, words: str
) -> None:
    """A later program writes fields this one does not know: nothing is confirmed, and nothing is called false."""
    report = changed(genuine, path, value)
    assert (report.word, report.exit_code) == ("UNKNOWN", 3)
    assert report.checks[0].holds is None
    assert words in report.checks[0].said
    assert "benchseal 0.1.0" in report.checks[0].said


@pytest.mark.parametrize(
    ("path", "value"),
    [pytest.param(("runs",), [], id="no run at all"), pytest.param(("results",), [], id="no result at all")],
)
def test_evidence_without_substance_is_altered(genuine: Made, path: tuple[str, ...], value: Json) -> None:
    assert changed(genuine, path, value).word == "ALTERED"
