"""Controlled documents through the command line: shown before signed, counting from a day, looked at, withdrawn."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, SECOND_APPROVER

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

RULES = starter("site/rules.yaml")
POLICY = starter("policies/signing.yaml")


def good(answer: Answer) -> Answer:
    assert answer.code == 0, answer.err
    return answer


def stopped(answer: Answer, code: str) -> None:
    assert answer.code not in {0, 1}, answer
    assert code in answer.err, answer


def bring(line: Line, folder: Path, text: str, *words: str, approver: str = APPROVER) -> Answer:
    """Bring in a version and approve it."""
    (folder / "it.yaml").write_text(text, encoding="utf-8")
    added = good(line("document", "add", str(folder / "it.yaml"), "--json", by=(ANALYST,))).json["documents"][0]
    return line("document", "approve", f"{added['kind']}/{added['id']}", *words, by=(approver,))


def test_a_change_is_shown_before_it_is_signed(line: Line, tmp_path: Path) -> None:
    first = good(bring(line, tmp_path, RULES))
    assert "no version is in force, so all of it is new" in first.out
    assert "late_entry_hours: 0" in first.out
    second = good(bring(line, tmp_path, RULES.replace("late_entry_hours: 0", "late_entry_hours: 24")))
    assert "late_entry_hours: 0 -> 24" in second.out
    assert second.out.index("comparison ") < second.out.index("is in force")
    same = good(line("document", "compare", "RULES@1", "RULES@2", "--json", by=(REVIEWER,))).json
    assert [each["path"] for each in same["differences"]] == ["late_entry_hours"]
    assert f"comparison {same['comparison']}" in second.out
    stopped(line("document", "compare", "RULES@1", "RULES@2", "RULES", by=(REVIEWER,)), "document.compare-two")
    stopped(line("document", "compare", "RULES", "lead-furnace", by=(REVIEWER,)), "document.kinds-differ")
    stopped(line("document", "compare", "RULES@9", by=(REVIEWER,)), "document.unknown")


def test_figures_of_another_comparison_sign_nothing(line: Line, tmp_path: Path) -> None:
    good(bring(line, tmp_path, RULES))
    changed = RULES.replace("late_entry_hours: 0", "late_entry_hours: 24")
    stopped(bring(line, tmp_path, changed, "--seen", "00000000"), "document.compared-other")
    figures = good(line("document", "compare", "RULES", "--json", by=(APPROVER,))).json["comparison"]
    good(line("document", "approve", "RULES", "--seen", figures, by=(APPROVER,)))


def test_a_version_waits_for_its_day_and_is_withdrawn(line: Line, tmp_path: Path) -> None:
    later = f"{datetime.now(UTC) + timedelta(days=9):%Y-%m-%d}"
    said = good(bring(line, tmp_path, RULES, "--effective", later))
    assert f"counts from {later}" in said.out
    listed = good(line("document", "list", "--json", by=(ANALYST,))).json["documents"]
    assert [(row["state"], row["effective"]) for row in listed if row["id"] == "RULES"] == [("waiting", later)]
    good(line("document", "withdraw", "RULES@1", "--reason", "too soon", by=(SECOND_APPROVER,)))
    stopped(line("document", "withdraw", "RULES@1", "--reason", "again", by=(APPROVER,)), "document.wrong-state")


def test_a_document_is_looked_at_again(line: Line, tmp_path: Path) -> None:
    good(bring(line, tmp_path, RULES.replace("document_review_months: 0", "document_review_months: 1")))
    assert good(line("document", "list", "--due", "--json", by=(ANALYST,))).json["documents"] == []
    good(line("document", "review", "lead-furnace", "--comment", "unchanged", by=(APPROVER,)))
    stopped(line("document", "review", "lead-furnace", "--comment", "x", by=(ANALYST,)), "act.role")


def test_a_policy_on_signing_is_read_before_anybody_signs(line: Line, tmp_path: Path) -> None:
    good(bring(line, tmp_path, POLICY))
    review = ("document", "review", "lead-furnace", "--comment", "unchanged")
    stopped(line(*review, by=(APPROVER,)), "policy.not-acknowledged")
    shown = good(line("policy", "show", "SIGNING", by=(APPROVER,))).out
    assert "My signature in this system is mine alone" in shown
    figures = shown.split()[-1]
    stopped(line("policy", "acknowledge", "SIGNING", "--seen", "00000000", by=(APPROVER,)), "policy.not-read")
    good(line("policy", "acknowledge", "SIGNING", "--seen", figures, by=(APPROVER,)))
    good(line(*review, by=(APPROVER,)))
    (row,) = good(line("policy", "list", "--json", by=(REVIEWER,))).json["policies"]
    assert APPROVER not in row["not yet"]
    assert REVIEWER in row["not yet"]
    assert line("verify", "--all").code == 0


@pytest.mark.clause("P11 11.10(k)")
def test_what_was_made_with_a_version_keeps_opening_and_names_it(line: Line, tmp_path: Path) -> None:
    before = line("verify", *(str(path) for path in sorted((line.site / "certificates").glob("*.pdf"))))
    assert before.code == 0
    changed = starter("methods/zinc-flame.yaml").replace("title: ", "title: New, ", 1)
    good(bring(line, tmp_path, changed))
    good(line("document", "withdraw", "zinc-flame", "--reason", "no zinc any more", by=(SECOND_APPROVER,)))
    (ref,) = line.rows("SELECT DISTINCT method_value FROM calculation WHERE method = 'zinc-flame'")
    (row,) = line.rows("SELECT version, value FROM document WHERE id = 'zinc-flame' AND state = 'superseded'")
    assert (row[0], row[1]) == ("1", ref[0])
    shown = good(line("document", "show", "zinc-flame@1", "--json", by=(ANALYST,))).json
    assert (shown["state"], shown["sha256"]) == ("superseded", ref[0])
    after = line("verify", *(str(path) for path in sorted((line.site / "certificates").glob("*.pdf"))))
    assert (after.code, after.out) == (before.code, before.out)
    assert line("verify", "--all").code == 0


@pytest.mark.refuses("P11 11.10(k)")
@pytest.mark.parametrize("state", ["withdrawn", "draft alone", "for a later day"])
def test_nothing_is_measured_by_a_method_that_does_not_count(line: Line, tmp_path: Path, state: str) -> None:
    reason = ("--reason", "not for ware")
    for name in ("lead-flame-ware", "cadmium-flame-ware"):
        good(line("document", "withdraw", name, *reason, by=(APPROVER,)))
        if state == "withdrawn":
            continue
        text = starter(f"methods/{name}.yaml").replace("title: ", "title: New, ", 1)
        if state == "draft alone":
            (tmp_path / "it.yaml").write_text(text, encoding="utf-8")
            good(line("document", "add", str(tmp_path / "it.yaml"), by=(ANALYST,)))
        else:
            later = f"{datetime.now(UTC) + timedelta(days=9):%Y-%m-%d}"
            good(bring(line, tmp_path, text, "--effective", later))
    before = line.rows("SELECT count(*) FROM run")
    answer = line("ingest", str(line.inbox("flame-ware.txt")), by=(ANALYST,))
    stopped(answer, "validate.method-unknown")
    assert line.rows("SELECT count(*) FROM run") == before
