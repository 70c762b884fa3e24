"""Several performers: one prepared and measured, another brought the file in and submitted. Each signs their share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER, SECOND_APPROVER, TRACE_ANALYST
from tests.journeys.test_after_release import page_text
from tests.journeys.test_corrections import done, good, refused, whole

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

RUNS = ("R-00008", "R-00009")
SIGN = ("run", "sign", *RUNS)


@pytest.fixture
def asked(line: Line, tmp_path: Path) -> Line:
    """The rules ask every performer to sign; the plates' runs, prepared and read by one, are submitted by another."""
    rules = tmp_path / "rules.yaml"
    rules.write_text("kind: site_rules\nid: RULES\ntitle: Rules of the site\nperformers_sign: required\n")
    good(line("document", "add", str(rules), "--json", by=(REVIEWER,)))
    good(line("document", "approve", "RULES", "--json", by=(APPROVER,)))
    good(line("ingest", str(line.inbox("flame-ware.txt")), "--json", by=(TRACE_ANALYST,)))
    good(line("run", "submit", *RUNS, "--json", by=(TRACE_ANALYST,)))
    return line


@pytest.mark.clause("P11 11.50(a)", "17025 7.5")
def test_each_signs_their_share_and_the_certificate_says_which(asked: Line) -> None:
    line = asked
    refused(line("run", "accept", *RUNS, by=(REVIEWER,)), "run.share-unsigned")
    shown = line("run", "show", RUNS[0], by=(REVIEWER,))
    assert f"has not signed their share: {ANALYST}, who prepared and measured" in shown.out
    told = line(*SIGN, by=(ANALYST,))
    assert told.code == 0, told.err
    assert f"R-00008, version 1: {ANALYST} signs what they prepared and measured." in told.out
    assert good(line("run", "show", RUNS[0], "--json", by=(REVIEWER,)))["shares_due"] == {}
    good(line("run", "accept", *RUNS, "--json", by=(REVIEWER,)))
    number = str(good(line("certificate", "draft", "C-1", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))
    text = " ".join(page_text(line, number).split()).replace(" ,", ",")
    assert "Maren Holt, analyst. I prepared portions for runs R-00008 and R-00009 and measured as recorded." in text
    assert "Tobias Quill, analyst. I measured" not in text
    assert "Tobias Quill, analyst. I calculated and submitted runs R-00008 and R-00009 as recorded." in text
    checked = line("verify", str(line.site / "certificates" / f"{number}.pdf"))
    assert checked.out.startswith("GENUINE"), checked.out
    assert "5 signatures fit what they sign" in checked.out
    assert whole(line)


@pytest.mark.refuses("P11 11.10(g)", "P11 11.50(a)")
def test_nobody_signs_what_they_did_not_do_or_signed_already(asked: Line) -> None:
    line = asked
    before = line.kept()
    refused(line(*SIGN, by=(TRACE_ANALYST,)), "run.share-signed")
    refused(line(*SIGN, by=(REVIEWER,)), "act.role")
    good(line("person", "role", REVIEWER, "--give", "analyst", "--reason", "helps out", "--json", by=(ADMINISTRATOR,)))
    refused(line(*SIGN, by=(REVIEWER,)), "run.share-none")
    refused(line("run", "sign", "R-00001", by=(ANALYST,)), "run.wrong-state")
    refused(line("run", "sign", "R-00099", by=(ANALYST,)), "run.unknown")
    assert line.kept().entries == before.entries + 1  # the role alone
    good(line(*SIGN, "--json", by=(ANALYST,)))
    refused(line(*SIGN, by=(ANALYST,)), "run.share-signed")


@pytest.mark.refuses("P11 11.70")
def test_a_share_of_one_version_is_none_of_the_next(asked: Line) -> None:
    line = asked
    good(line(*SIGN, "--json", by=(ANALYST,)))
    good(line("run", "return", *RUNS, "--reason", "a mass looks odd", "--json", by=(REVIEWER,)))
    wrong = ("preparation", "correct", "WR-01/W-C1/1", "--set", "area_dm2=2.51", "--reason", "measured again")
    done(line, *wrong, by=(TRACE_ANALYST,))
    good(line("run", "submit", *RUNS, "--json", by=(TRACE_ANALYST,)))
    refused(line("run", "accept", *RUNS, by=(REVIEWER,)), "run.share-unsigned")
    good(line(*SIGN, "--json", by=(ANALYST,)))
    good(line("run", "accept", *RUNS, "--json", by=(REVIEWER,)))
    assert whole(line)


def test_a_closed_account_is_no_performer_to_wait_for(asked: Line) -> None:
    good(asked("person", "disable", ANALYST, "--reason", "left the house", "--json", by=(ADMINISTRATOR,)))
    good(asked("run", "accept", *RUNS, "--json", by=(REVIEWER,)))


def test_where_the_rules_do_not_ask_one_signature_does_and_a_share_may_stand_beside_it(line: Line) -> None:
    good(line("ingest", str(line.inbox("flame-ware.txt")), "--json", by=(TRACE_ANALYST,)))
    good(line("run", "submit", *RUNS, "--json", by=(TRACE_ANALYST,)))
    good(line("run", "sign", RUNS[0], "--json", by=(ANALYST,)))
    good(line("run", "accept", *RUNS, "--json", by=(REVIEWER,)))
    assert whole(line)


def test_one_person_who_did_all_signs_once(line: Line, tmp_path: Path) -> None:
    rules = tmp_path / "rules.yaml"
    rules.write_text("kind: site_rules\nid: RULES\ntitle: Rules of the site\nperformers_sign: required\n")
    good(line("document", "add", str(rules), "--json", by=(REVIEWER,)))
    good(line("document", "approve", "RULES", "--json", by=(APPROVER,)))
    good(line("ingest", str(line.inbox("flame-ware.txt")), "--json", by=(ANALYST,)))
    good(line("run", "submit", *RUNS, "--json", by=(ANALYST,)))
    good(line("run", "accept", *RUNS, "--json", by=(REVIEWER,)))
