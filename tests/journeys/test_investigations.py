"""The investigation of the demo's lot, by the command line: from where the demo leaves it to the certificate."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, SECOND_APPROVER, TRACE_ANALYST

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

ONE = "I-00001"
CAUSE = ("--category", "reading", "--cause", "memory of a tube", "--evidence", "log, page 3")


def test_what_the_demo_leaves_can_be_read_by_anybody(reader: Line) -> None:
    listed = reader("investigation", "list", "--json")
    assert listed.code == 0
    (row,) = listed.json["investigations"]
    assert (row["investigation"], row["state"], row["lot"], row["overdue"]) == (ONE, "phase 1", "A-2", "")
    assert reader("investigation", "list").out.splitlines()[1].startswith("I-00001        phase 1  A-2  Cd       0.610")
    shown = reader("investigation", "show", ONE)
    assert "on record: check-standard at 8" in shown.out
    assert "not answered" not in shown.out
    assert "evidence: Sequence printout" in shown.out
    assert "plan 1, hypothesis, in force: 1 of S-00002" in shown.out
    data = reader("investigation", "show", ONE, "--json").json
    assert data["results"][0]["kind"] == "original"
    assert {one["line"] for one in data["questions"] if one["answer"]} >= {"solutions", "dilution", "calculation"}


@pytest.mark.clause("P211.192")
def test_the_report_has_the_timeline_with_names_and_signatures(reader: Line) -> None:
    report = reader("report", "investigation", ONE)
    timeline = report.out.partition("timeline (UTC):")[2]
    assert timeline.splitlines()[1].split()[1:] == [TRACE_ANALYST, "opened"]
    assert "answered solutions" in timeline
    assert "stated, signed as performed" in timeline
    assert "planned hypothesis, 1 of S-00002, signed as approved" in timeline
    assert "told: quality unit, Ruth Calloway" in timeline
    data = reader("report", "investigation", ONE, "--json").json
    assert [one["entry"] for one in data["timeline"]] == sorted(one["entry"] for one in data["timeline"])
    assert reader("report", "investigation", "I-00009").code == 5


def test_why_not_names_the_investigation_and_whose_move_it_is(reader: Line) -> None:
    told = reader("certificate", "why-not", "A-2", "--json")
    assert told.code == 10
    held = next(one for one in told.json["blockers"] if one["code"] == "certificate.held")
    assert "I-00001 waits for a reviewer" in held["remedy"]
    assert told.json["patterns"] == []
    assert f"investigation/{ONE}" in reader("report", "lot", "A-2").out


def test_no_pattern_in_the_demo(reader: Line) -> None:
    found = reader("investigation", "list", "--patterns")
    assert (found.code, found.out) == (0, "No pattern.\n")


def test_evidence_is_a_file_whose_bytes_are_kept_or_a_text(line: Line, tmp_path: Path) -> None:
    picture = tmp_path / "tube.png"
    picture.write_bytes(b"\x89PNG invented")
    done = line(
        "investigation",
        "answer",
        ONE,
        "instrument",
        "--answer",
        "tube worn",
        "--evidence",
        str(picture),
        by=(REVIEWER,),
    )
    assert done.code == 0, done.err
    name = sha256(b"\x89PNG invented").hexdigest()
    assert line.rows(f"SELECT size FROM objects WHERE sha256 = '{name}'") == [(13,)]  # noqa: S608
    shown = line("investigation", "show", ONE, by=(REVIEWER,))
    assert f"evidence: file tube.png, SHA-256 {name}" in shown.out
    lost = line("investigation", "answer", ONE, "instrument", "--answer", "x", "--evidence", "lost.png", by=(REVIEWER,))
    assert (lost.code, lost.err.split(":")[0]) == (4, "file.missing")
    words = line("investigation", "answer", ONE, "instrument", "--answer", "x", "--evidence", " ", by=(REVIEWER,))
    assert (words.code, words.err.split(":")[0]) == (5, "investigation.no-evidence")


def test_one_kind_of_plan_at_a_time(line: Line) -> None:
    both = line("investigation", "plan", ONE, "--retest", "2", "--hypothesis", "worn tube", by=(APPROVER,))
    assert (both.code, both.err.split(":")[0]) == (4, "investigation.plan-kind")
    none = line("investigation", "plan", ONE, by=(APPROVER,))
    assert (none.code, none.err.split(":")[0]) == (4, "investigation.plan-kind")
    early = line("investigation", "plan", ONE, "--retest", "2", "--analyst", "maren.holt", by=(APPROVER,))
    assert (early.code, early.err.split(":")[0]) == (5, "investigation.wrong-state")


@pytest.mark.clause("OOS V")
def test_every_step_has_its_command_and_none_is_skipped(line: Line) -> None:
    steps = (
        (("investigation", "statement", ONE, "--text", "as I said before"), TRACE_ANALYST),
        (("investigation", "cause", ONE, *CAUSE), REVIEWER),
        (("investigation", "refuse-cause", ONE, "--reason", "the blanks say otherwise"), APPROVER),
        (("investigation", "no-cause", ONE, "--conclusion", "every line is in order"), REVIEWER),
        (
            (
                "investigation",
                "plan",
                ONE,
                "--retest",
                "2",
                "--analyst",
                "maren.holt",
                "--rule",
                "both",
                "--rationale",
                "two",
            ),
            APPROVER,
        ),
        (("investigation", "extend", ONE, "A-4", "--reason", "the same rotor"), REVIEWER),
        (("investigation", "notified", ONE, "--who", "customer", "--how", "letter"), APPROVER),
        (
            (
                "investigation",
                "answer",
                ONE,
                "production",
                "--answer",
                "none here",
                "--evidence",
                "letter of the customer",
            ),
            REVIEWER,
        ),
    )
    for words, person in steps:
        done = line(*words, by=(person,))
        assert done.code == 0, (words, done.err)
    early = line("investigation", "evaluate", ONE, "--text", "clear", by=(REVIEWER,))
    assert (early.code, early.err.split(":")[0]) == (5, "investigation.plan-incomplete")
    wrong = line("investigation", "invalidate", ONE, "--reason", "so be it", by=(APPROVER,))
    assert (wrong.code, wrong.err.split(":")[0]) == (5, "investigation.wrong-state")
    assert "I-00001" in line("certificate", "why-not", "A-4", by=(ANALYST,)).out


@pytest.mark.clause("OOS V")
def test_a_confirmed_exceedance_is_certified_as_one(line: Line) -> None:
    answer = (
        "investigation",
        "answer",
        ONE,
        "production",
        "--answer",
        "none here",
        "--evidence",
        "letter of the customer",
    )
    steps = (
        (("investigation", "no-cause", ONE, "--conclusion", "every line is in order"), REVIEWER),
        (answer, REVIEWER),
        (("investigation", "evaluate", ONE, "--text", "both portions agree"), REVIEWER),
        (
            ("investigation", "close", ONE, "--outcome", "confirmed", "--conclusion", "the lot is above the limit"),
            APPROVER,
        ),
    )
    for words, person in steps:
        assert line(*words, by=(person,)).code == 0, words
    drafted = line("certificate", "draft", "A-2", "--json", by=(ANALYST,))
    assert drafted.json["conclusion"] == "does not comply with the specification", drafted
    number = drafted.json["number"]
    assert line("certificate", "approve", number, by=(APPROVER,)).code == 0
    assert line("certificate", "release", number, by=(SECOND_APPROVER,)).code == 0
    shown = line("certificate", "show", number, by=(ANALYST,))
    assert f"investigation {ONE}, Cd, total, content, as received: confirmed" in shown.out
    pdf = line.site / "certificates" / f"{number}.pdf"
    told = line("verify", str(pdf), "--trust", str(line.site / "trust.json"))
    assert told.out.startswith("GENUINE")
    assert line("verify", "--all").code == 0
