"""A signed qualification: two people, exactly the report that was seen, and what counts as one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_accounts import refused, whole

from benchseal import __version__
from benchseal.desk.acts_qualification import SignQualification
from benchseal.desk.periodic import report_of
from benchseal.desk.qualification import qualification_record, qualified, signed_qualifications
from benchseal.desk.reading import all_entries
from benchseal.records.canonical import digest
from benchseal.records.qualification import Installation, Qualification, QualificationTest, verdict_of
from benchseal.records.shape import record_bytes
from benchseal.upkeep.doctor import examine
from benchseal.upkeep.status import status

if TYPE_CHECKING:
    from tests.conftest import Bench

INSTALLATION = Installation(__version__, 1, "CPython 3.11.7", "Linux x86_64", "ab" * 32, (), ())
PASSED = QualificationTest("operation", "nist-norris", "a source", "1", "1", "passed")
FAILED = QualificationTest("operation", "backup", "a clause", "nothing found", "a leaf", "failed", "found: a leaf.")


def report(*tests: QualificationTest, program: str = __version__) -> Qualification:
    return Qualification("qualification/1", replace(INSTALLATION, program=program), tests, verdict_of(tests))


def signing(made: Qualification, listed: str = "", comment: str = "first use") -> SignQualification:
    data = record_bytes(made)
    return SignQualification(data, listed or digest(data)[:8], comment)


def unqualified(bench: Bench) -> bool:
    found = {one.code for one in examine(bench.site)}
    assert ("doctor.qualification" in {one.code for one in status(bench.site).findings}) == (
        "doctor.qualification" in found
    )
    return "doctor.qualification" in found


@pytest.mark.clause("A11 4", "17025 7.11.2", "P11 11.10(a)")
def test_two_people_sign_what_was_tested_and_the_version_counts_as_qualified(bench: Bench) -> None:
    assert unqualified(bench)
    done = bench.do(signing(report(PASSED)), "emil", "cleo")
    assert done.data["verdict"] == "passed"
    assert not unqualified(bench)
    with bench.site.store.reading() as view:
        (row,) = signed_qualifications(view)
        assert (row["performed_by"], row["approved_by"], row["program"]) == (
            "p-emil.holt",
            "p-cleo.strand",
            __version__,
        )
        assert qualification_record(view, row) == report(PASSED)
        assert qualified(view) == row
        signatures = view.rows("signature", digest=row["record"])
        assert sorted(one["meaning"] for one in signatures) == ["approved", "performed"]
        (first, second) = [entry for entry in all_entries(view) if entry.kind == "qualification.signed"]
        assert (first.actor, second.actor, first.reason) == ("p-emil.holt", "p-cleo.strand", "first use")
        last = report_of(view, view.size(), ())["last"]
        assert isinstance(last, dict)
        assert last["qualification"] == second.at
    assert whole(bench)


def test_without_one_the_periodic_review_says_never_and_lists_it_as_amiss(bench: Bench) -> None:
    amiss = [f"{one.code} {one.where}" for one in examine(bench.site)]
    with bench.site.store.reading() as view:
        made = report_of(view, view.size(), amiss)
    assert isinstance(made["last"], dict)
    assert made["last"]["qualification"] == ""
    assert f"doctor.qualification benchseal {__version__}" in amiss


@pytest.mark.refuses("A11 4")
@pytest.mark.parametrize(
    ("act", "people", "code"),
    [
        pytest.param(signing(report(PASSED)), ("emil",), "act.signers", id="one person"),
        pytest.param(signing(report(PASSED)), ("cleo", "emil"), "act.role", id="the wrong way round"),
        pytest.param(signing(report(PASSED)), ("emil", "ana"), "act.role", id="no approver"),
        pytest.param(signing(report(PASSED), comment=" "), ("emil", "cleo"), "act.reason", id="no comment"),
        pytest.param(signing(report(PASSED), listed="00000000"), ("emil", "cleo"), "qualify.changed", id="another one"),
        pytest.param(
            replace(signing(report(PASSED)), record=record_bytes(report(PASSED, FAILED))), ("emil", "cleo"),
            "qualify.changed", id="other tests than were seen",
        ),
    ],
)  # fmt: skip
def test_what_is_no_signed_qualification(
    bench: Bench, act: SignQualification, people: tuple[str, ...], code: str
) -> None:
    before = bench.entries()
    assert refused(lambda: bench.do(act, *people)) == code
    assert bench.entries() == before
    assert unqualified(bench)


@pytest.mark.refuses("A11 4")
@pytest.mark.parametrize(
    "made",
    [pytest.param(report(PASSED, FAILED), id="failed"), pytest.param(report(PASSED, program="0.0.9"), id="older")],
)
def test_a_failed_one_and_one_of_another_version_stay_on_record_and_do_not_count(
    bench: Bench, made: Qualification
) -> None:
    bench.do(signing(made), "emil", "cleo")
    assert unqualified(bench)
    with bench.site.store.reading() as view:
        assert [row["verdict"] for row in signed_qualifications(view)] == [made.verdict]
        assert qualified(view) is None


def test_the_last_good_one_counts(bench: Bench) -> None:
    left_out = QualificationTest("installation", "files", "a clause", "a list", "no list", "left out", "a checkout.")
    for made in (report(PASSED), report(PASSED, left_out), report(FAILED)):
        bench.do(signing(made), "emil", "cleo")
    with bench.site.store.reading() as view:
        assert (qualified(view) or {})["verdict"] == "incomplete"
        assert len(signed_qualifications(view)) == 3
