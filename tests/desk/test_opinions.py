"""Opinions on results: whose they are, what they rest on, and that no certificate prints another. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import ADMIN, APPROVER, FLAME, REVIEWER, SECOND, do
from tests.desk.test_accounts import refused
from tests.desk.test_corrections import MASS
from tests.desk.test_corrections import do as correct
from tests.desk.test_instruments import whole
from tests.journeys.test_demo import trust

from benchseal.desk import sealing
from benchseal.desk.acts_certificates import (
    ApproveCertificate,
    DiscardCertificate,
    DraftCertificate,
    ReleaseCertificate,
    ReturnCertificate,
)
from benchseal.desk.acts_opinions import GiveOpinion, WithdrawOpinion
from benchseal.desk.acts_runs import AcceptRuns, SubmitRuns
from benchseal.desk.reading import load
from benchseal.records.evidence import Evidence
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from tests.conftest import Stage

LOT = "B-2"
OPINION = GiveOpinion(LOT, "The lot is like the one before", "results of A-1, which came from the same line")


def drafted(stage: Stage) -> str:
    return str(do(stage, DraftCertificate(LOT, ""), FLAME).data["number"])


def content(stage: Stage, number: str) -> Evidence:
    with stage.site.store.reading() as view:
        row = view.row("certificate", number=number)
        assert row is not None
        return load(view, Evidence, row["content"])


@pytest.mark.clause("17025 7.8.7")
def test_an_opinion_is_signed_printed_with_its_basis_and_verified(stage: Stage) -> None:
    do(stage, OPINION, SECOND)
    number = drafted(stage)
    (signed,) = content(stage, number).opinions
    assert (signed.opinion.person, signed.signature.statement.person) == (SECOND, SECOND)
    do(stage, ApproveCertificate(number), APPROVER)
    do(stage, ReleaseCertificate(number), APPROVER)
    sealing.finish(stage.site, number)
    report = verify_certificate(stage.pdf(number), trust(stage))
    assert report.word == "GENUINE", report.lines()
    assert whole(stage)


@pytest.mark.refuses("17025 7.8.7")
@pytest.mark.parametrize(
    ("act", "person", "code"),
    [
        pytest.param(OPINION, FLAME, "act.role", id="an analyst"),
        pytest.param(OPINION, REVIEWER, "act.role", id="a reviewer"),
        pytest.param(OPINION, ADMIN, "act.role", id="an administrator"),
        pytest.param(GiveOpinion(LOT, "It is fine", " "), APPROVER, "opinion.empty", id="without a basis"),
        pytest.param(GiveOpinion(LOT, "", "the results"), APPROVER, "opinion.empty", id="without an opinion"),
        pytest.param(GiveOpinion("Z-9", "It is fine", "hearsay"), APPROVER, "lot.unknown", id="no such lot"),
        pytest.param(GiveOpinion("C-1", "It is fine", "hearsay"), APPROVER, "opinion.no-results", id="no results yet"),
        pytest.param(WithdrawOpinion("O-0001", "wrong"), APPROVER, "opinion.unknown", id="takes back nothing"),
        pytest.param(WithdrawOpinion("O-0001", " "), APPROVER, "act.reason", id="takes back without a reason"),
    ],
)
def test_what_is_no_opinion(stage: Stage, act: object, person: str, code: str) -> None:
    assert refused(lambda: do(stage, act, person)) == code


@pytest.mark.refuses("17025 7.8.7")
def test_an_opinion_does_not_outlive_the_results_it_is_about(stage: Stage) -> None:
    """NEG: the results are corrected afterwards; the opinion must be weighed again, not carried along."""
    do(stage, OPINION, APPROVER)
    correct(stage, MASS, FLAME, REVIEWER)
    with stage.site.store.reading() as view:
        runs = tuple(row["run"] for row in view.rows("run") if row["state"] == "reopened")
    assert runs
    do(stage, SubmitRuns(runs), FLAME)
    do(stage, AcceptRuns(runs), REVIEWER)
    assert refused(lambda: drafted(stage)) == "opinion.results-changed"
    do(stage, WithdrawOpinion("O-0001", "the results changed"), SECOND)
    assert refused(lambda: do(stage, WithdrawOpinion("O-0001", "again"), SECOND)) == "opinion.unknown"
    assert content(stage, drafted(stage)).opinions == ()
    assert whole(stage)


@pytest.mark.refuses("17025 7.8.7")
def test_nothing_is_approved_or_released_beside_an_opinion_it_does_not_print(stage: Stage) -> None:
    """NEG: given after the draft, withdrawn after the approval."""
    number = drafted(stage)
    do(stage, OPINION, SECOND)
    assert refused(lambda: do(stage, ApproveCertificate(number), APPROVER)) == "certificate.opinions-changed"
    do(stage, DiscardCertificate(number, "an opinion came"), FLAME)
    number = drafted(stage)
    do(stage, ApproveCertificate(number), APPROVER)
    do(stage, WithdrawOpinion("O-0001", "it was about another lot"), SECOND)
    assert refused(lambda: do(stage, ReleaseCertificate(number), APPROVER)) == "certificate.opinions-changed"
    do(stage, ReturnCertificate(number, "an opinion went"), APPROVER)
    assert refused(lambda: do(stage, ApproveCertificate(number), APPROVER)) == "certificate.opinions-changed"


def test_several_opinions_stand_in_their_order(stage: Stage) -> None:
    do(stage, OPINION, SECOND)
    do(stage, GiveOpinion(LOT, "A second thought", "the calibration of the day"), APPROVER)
    names = [one.opinion.opinion for one in content(stage, drafted(stage)).opinions]
    assert names == ["O-0001", "O-0002"]
