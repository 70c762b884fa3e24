"""Accounts, security and operations at the command line, as administrator, approver and IT use them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER, SECOND_APPROVER, one_line

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

NEW = "a walnut desk with nine drawers"
SEEN = ("--identity-check", "passport seen by Jonas Wick")


def good(answer: Answer) -> dict[str, object]:
    assert answer.code == 0, answer.err
    assert answer.json["problems"] == []
    return answer.json


def stopped(answer: Answer, code: str) -> None:
    assert answer.code not in {0, 1}
    assert one_line(answer.err), answer.err
    assert answer.err.startswith(f"{code}:"), answer.err


# ------------------------------------------------------------------ accounts


def test_a_role_is_given_taken_and_gone(line: Line) -> None:
    for option in ("--give", "--take"):
        words = ("person", "role", ANALYST, option, "reviewer", "--reason", "trained")
        good(line(*words, "--json", by=(ADMINISTRATOR,)))
    stopped(line("person", "role", ANALYST, "--give", "wizard", "--reason", "x", by=(ADMINISTRATOR,)), "person.role")
    stopped(line("person", "role", ANALYST, "--reason", "x", by=(ADMINISTRATOR,)), "person.role")


@pytest.mark.clause("A11 12.3", "P11 11.100(b)")
def test_an_account_is_closed_opened_and_confirmed(line: Line) -> None:
    good(line("person", "disable", ANALYST, "--reason", "on leave", "--json", by=(ADMINISTRATOR,)))
    stopped(line("run", "submit", "R-00001", by=(ANALYST,)), "sign-in.refused")
    good(line("person", "enable", ANALYST, "--reason", "back", "--json", by=(ADMINISTRATOR,)))
    stopped(line("run", "submit", "R-00001", by=(ANALYST,)), "person.suspended")
    good(line("person", "confirm", ANALYST, *SEEN, "--json", by=(APPROVER,)))
    stopped(line("run", "submit", "R-00001", by=(ANALYST,)), "run.wrong-state")


@pytest.mark.clause("P11 11.200(a)(3)")
def test_a_forgotten_password_takes_three_people(line: Line) -> None:
    once = str(
        good(line("person", "reset", ANALYST, "--reason", "forgotten", "--json", by=(ADMINISTRATOR,)))[
            "password_for_once"
        ]
    )
    assert len(once) >= 15
    stopped(line("run", "list", more=(ANALYST, once)), "person.must-change-password")
    good(line("person", "password", "--json", more=(ANALYST, once, NEW)))
    stopped(line("run", "submit", "R-00001", more=(ANALYST, NEW)), "person.suspended")
    good(line("person", "confirm", ANALYST, *SEEN, "--json", by=(APPROVER,)))
    stopped(line("run", "submit", "R-00001", more=(ANALYST, NEW)), "run.wrong-state")
    assert once not in line("ledger", "show", "all", by=(APPROVER,)).out


def test_both_halves_of_the_envelope_open_it_once(line: Line) -> None:
    custodians = ("--custodian", "Ada Brook", "--custodian", "Notary Hale")
    made = line("recovery", "make", *custodians, "--json", by=(ADMINISTRATOR, APPROVER))
    assert made.code == 0, made.err
    first, second = map(str, made.json["halves"])
    check = ("recovery", "check")
    stopped(line(*check, by=(ADMINISTRATOR,), more=(first, first)), "recovery.wrong")
    assert good(line(*check, "--json", by=(ADMINISTRATOR,), more=(first, second)))["opens"] is True
    good(line("person", "reset", SECOND_APPROVER, "--reason", "forgotten", "--json", by=(ADMINISTRATOR,)))
    words = ("recovery", "use", SECOND_APPROVER, *SEEN, "--reason", "nobody else is here")
    stopped(line(*words, by=(ADMINISTRATOR,), more=(first, first)), "recovery.wrong")
    stopped(line(*words, by=(ADMINISTRATOR,), more=("no half", second)), "recovery.wrong")
    good(line(*words, "--json", by=(ADMINISTRATOR,), more=(second, first)))
    stopped(line(*words, by=(ADMINISTRATOR,), more=(first, second)), "person.not-suspended")


# ------------------------------------------------------------------ security


def test_an_event_is_seen_by_two(line: Line) -> None:
    good(line("person", "reset", ANALYST, "--reason", "forgotten", "--json", by=(ADMINISTRATOR,)))
    (event,) = line("event", "list", "--open", "--json", by=(ADMINISTRATOR,)).json["events"]
    words = ("event", "acknowledge", str(event["event"]), "--comment", "she was there")
    for person in (ADMINISTRATOR, APPROVER):
        good(line(*words, "--json", by=(person,)))
    assert line("event", "list", "--open", "--json", by=(ADMINISTRATOR,)).json["events"] == []


def test_the_list_looked_at_is_the_list_signed(line: Line) -> None:
    figures = str(good(line("access", "list", "--json", by=(APPROVER,)))["list"])
    good(line("access", "review", "--list", figures, "--comment", "all right", "--json", by=(APPROVER,)))
    stopped(line("access", "review", "--list", "00000000", "--comment", "x", by=(APPROVER,)), "access.changed")


def test_a_clock_that_is_right_needs_no_word(line: Line) -> None:
    stopped(line("clock", "confirm", "--reason", "looks right", by=(ADMINISTRATOR,)), "clock.nothing-open")


@pytest.mark.clause("A11 9")
def test_a_trail_is_looked_at_and_signed(line: Line) -> None:
    shown = good(line("ledger", "show", "run/R-00001", "--changes", "--json", by=(REVIEWER,)))
    words = ("ledger", "review", "run/R-00001", "--comment", "complete", "--list")
    good(line(*words, str(shown["list"]), "--json", by=(REVIEWER,)))
    stopped(line(*words, "00000000", by=(APPROVER,)), "trail.changed")


def test_what_was_found_goes_into_a_file(line: Line, tmp_path: Path) -> None:
    good(line("ledger", "find", "--act", "run", "--csv", str(tmp_path / "t.csv"), "--json", by=(REVIEWER,)))
    assert (tmp_path / "t.csv").read_text(encoding="utf-8").startswith("entry,at,actor,kind,subject,reason")
    stopped(line("ledger", "find", "--from", "yesterday", by=(REVIEWER,)), "ledger.day")


# ------------------------------------------------------------------ operations


@pytest.mark.clause("A11 7.2", "17025 8.4")
def test_a_backup_is_made_tried_and_put_back(line: Line, tmp_path: Path) -> None:
    name, again = str(tmp_path / "b.zip"), str(tmp_path / "again")
    made = good(line("backup", "make", name, "--json", by=(ADMINISTRATOR,)))
    good(line("backup", "test", name, "--json", by=(ADMINISTRATOR,)))
    stopped(line("backup", "make", name, by=(ADMINISTRATOR,)), "backup.exists")
    stopped(line("backup", "make", name, by=(ANALYST,)), "act.role")
    back = good(line("restore", name, again, "--json"))
    assert back["entries"] == made["entries"]
    assert line("verify", "--all", "--site", again).code == 0
    stopped(line("restore", name, again), "restore.not-empty")
    pdf = next((line.site / "certificates").glob("*.pdf"))
    assert line("verify", str(pdf), "--site", again).out.startswith("GENUINE")


@pytest.mark.refuses("A11 7.2")
def test_a_backup_of_another_history_is_found(line: Line, tmp_path: Path) -> None:
    """The site was put back to an older state: the newer backup shows it."""
    old, new, again = (str(tmp_path / one) for one in ("old.zip", "new.zip", "again"))
    good(line("backup", "make", old, "--json", by=(ADMINISTRATOR,)))
    good(line("backup", "make", new, "--json", by=(ADMINISTRATOR,)))
    good(line("restore", old, again, "--json"))
    answer = line("backup", "test", new, "--site", again, by=(ADMINISTRATOR,))
    assert answer.code == 6
    assert "integrity.root" in answer.err


@pytest.mark.parametrize("words", [("doctor",), ("status",)])
def test_what_is_amiss_is_told_in_words_and_as_one_object(line: Line, words: tuple[str, ...]) -> None:
    said = line(*words, by=(ANALYST,))
    assert said.code == 10
    assert said.err == ""
    told = line(*words, "--json", by=(ANALYST,)).json
    assert told["exit"] == 10
    assert {"doctor.backup", "doctor.hold"} <= {one["code"] for one in told["problems"]}
    if words == ("status",):
        assert len(said.out.splitlines()) == 1


def test_a_witness_elsewhere_accepts_growth_only(line: Line, tmp_path: Path) -> None:
    head, seen = str(tmp_path / "head.json"), str(tmp_path / "seen.json")
    watch = ("--trust", str(line.site / "trust.json"), "--state", str(tmp_path / "w"))
    good(line("ledger", "checkpoint", "--out", head, "--json", by=(ANALYST,)))
    first = good(line("ledger", "witness", head, *watch, "--json", "--out", seen))
    good(line("backup", "make", str(tmp_path / "b.zip"), "--json", by=(ADMINISTRATOR,)))
    good(line("ledger", "checkpoint", "--out", head, "--json", by=(ANALYST,)))
    stopped(line("ledger", "witness", head, *watch), "witness.since")
    other = line("ledger", "witness", head, *watch[:2], "--state", str(tmp_path / "v"))
    assert "is the first seen here" in other.out
    good(line("ledger", "checkpoint", "--since", str(first["size"]), "--out", head, "--json", by=(ANALYST,)))
    good(line("ledger", "witness", head, *watch, "--json", "--out", seen))
    assert "begins with what was seen before" in line("ledger", "witness", head, *watch).out
    assert line("verify", "--all", "--against", seen, head).code == 0
    stopped(line("ledger", "checkpoint", "--since", "99999", by=(ANALYST,)), "checkpoint.since")


def test_nothing_is_written_over_what_a_site_keeps(line: Line, tmp_path: Path) -> None:
    """A slip of the hand names the store, by itself or by a link, or the folder of keys."""
    (tmp_path / "report.pdf").symlink_to(line.site / "store.sqlite")
    before = (line.site / "store.sqlite").read_bytes()
    for name in ("store.sqlite", "benchseal.toml", "private/more.key.json", "trust.json",
                 "certificates/C-2026-00001.pdf", "outbox/new.csv", "inbox/new.txt"):  # fmt: skip
        place = line.site / name
        stopped(line("ledger", "find", "--act", "key", "--csv", str(place), by=(ANALYST,)), "file.of-site")
    shown = line("certificate", "show", "C-2026-00001", "--pdf", str(tmp_path / "report.pdf"), by=(ANALYST,))
    stopped(shown, "file.of-site")
    assert (line.site / "store.sqlite").read_bytes() == before
    good(line("key", "trust", "--out", str(line.site / "trust.json"), "--json", by=(ANALYST,)))
    stopped(line("run", "list", "--site", str(line.site / "store.sqlite")), "settings.no-site")
