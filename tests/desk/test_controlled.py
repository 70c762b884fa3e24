"""Controlled documents: approved by another, from a day on, compared, looked at again, taken out of use."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_accounts import refused, whole

from benchseal.desk.acts_deliveries import PlanDelivery
from benchseal.desk.acts_documents import AddDocument, ApproveDocument, ReviewDocument, WithdrawDocument
from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.acts_registers import AddRegister
from benchseal.desk.comparing import against_in_force
from benchseal.desk.controlled import due_documents, latest, named
from benchseal.desk.in_force import bring_in_force, in_force
from benchseal.desk.reading import all_entries
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Stopped
from benchseal.records.canonical import digest, parse_canonical
from benchseal.shipped import starter
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from tests.conftest import Bench

LAYOUT = starter("layouts/comma-list.yaml")
RULES = starter("site/rules.yaml")


def add(bench: Bench, text: str, name: str = "ana") -> None:
    bench.do(AddDocument(text.encode("utf-8"), "it.yaml"), name)


def rules(hours: int) -> str:
    return RULES.replace("late_entry_hours: 0", f"late_entry_hours: {hours}")


def states(bench: Bench, name: str = "RULES") -> list[str]:
    with bench.site.store.reading() as view:
        rows = sorted(view.rows("document", id=name), key=lambda row: int(row["version"]))
        return [row["state"] for row in rows]


def hours(bench: Bench) -> int:
    with bench.site.store.reading() as view:
        return rules_in_force(view).late_entry_hours


def anything(bench: Bench) -> None:
    """An act that has nothing to do with documents."""
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")


# ------------------------------------------------------------------ the author does not approve


@pytest.mark.refuses("A11 10")
@pytest.mark.refuses("P11 11.10(k)(2)")
def test_no_author_of_a_draft_approves_it_whoever_wrote_its_last_version(bench: Bench) -> None:
    add(bench, rules(1), "cleo")
    add(bench, rules(2), "ana")
    assert refused(lambda: bench.do(ApproveDocument("RULES"), "cleo")) == "duty.own-work"
    bench.do(ApproveDocument("RULES"), "dora")
    add(bench, rules(3), "ana")
    bench.do(ApproveDocument("RULES"), "cleo")  # her draft became a version in force; this is another one
    assert states(bench) == ["draft", "superseded", "approved"]
    assert whole(bench)


@pytest.mark.refuses("A11 10")
def test_an_author_does_not_sign_that_the_document_stays_right(bench: Bench) -> None:
    add(bench, rules(1), "cleo")
    bench.do(ApproveDocument("RULES"), "dora")
    assert refused(lambda: bench.do(ReviewDocument("RULES", "fine"), "cleo")) == "duty.own-work"
    bench.do(ReviewDocument("RULES", "fine"), "dora")


# ------------------------------------------------------------------ back to what was before


def test_the_text_of_an_earlier_version_becomes_a_version_of_its_own(bench: Bench) -> None:
    for nth in (1, 2):
        add(bench, rules(nth))
        bench.do(ApproveDocument("RULES"), "cleo")
    add(bench, rules(1))
    assert (states(bench), hours(bench)) == (["superseded", "approved", "draft"], 2)
    bench.do(ApproveDocument("RULES"), "cleo")
    assert (states(bench), hours(bench)) == (["superseded", "superseded", "approved"], 1)
    add(bench, rules(2))
    bench.do(ApproveDocument("RULES"), "cleo")
    assert hours(bench) == 2
    assert whole(bench)


def test_the_text_in_force_and_that_of_the_latest_draft_are_no_change(bench: Bench) -> None:
    add(bench, rules(1))
    assert refused(lambda: add(bench, rules(1))) == "document.no-change"
    bench.do(ApproveDocument("RULES"), "cleo")
    assert refused(lambda: add(bench, rules(1))) == "document.no-change"
    add(bench, rules(2))
    assert refused(lambda: add(bench, rules(1))) == "document.no-change"
    assert refused(lambda: add(bench, rules(2))) == "document.no-change"
    add(bench, rules(3))
    add(bench, rules(2))  # of an earlier draft
    assert states(bench) == ["approved", "draft", "draft", "draft"]


def test_a_withdrawn_text_may_be_brought_in_again(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES"), "cleo")
    bench.do(WithdrawDocument("RULES", "a mistake"), "cleo")
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES"), "cleo")
    assert (states(bench), hours(bench)) == (["withdrawn", "approved"], 1)
    assert whole(bench)


# ------------------------------------------------------------------ from a day on


@pytest.mark.clause("P11 11.10(k)(2)")
def test_a_version_for_a_later_day_counts_from_that_day_in_the_laboratory_s_zone(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES"), "cleo")
    add(bench, rules(2))
    bench.do(ApproveDocument("RULES", effective="2026-03-04"), "cleo")
    anything(bench)
    assert (hours(bench), states(bench)) == (1, ["approved", "waiting"])
    bench.clock.now = bench.clock.now.replace(day=3, hour=22, minute=59, second=50)  # 23:59:50 in Berlin
    bench.clock.step = timedelta()
    anything(bench)
    assert hours(bench) == 1
    bench.clock.now += timedelta(seconds=10)
    anything(bench)
    assert (hours(bench), states(bench)) == (2, ["superseded", "approved"])
    with bench.site.store.reading() as view:
        begun = [entry for entry in all_entries(view) if entry.kind == "document.begun"]
    assert [(entry.actor, entry.facts["version"], entry.facts["supersedes"]) for entry in begun] == [("program", 2, 1)]
    assert whole(bench)


def test_the_day_is_seen_by_whoever_only_reads(bench: Bench) -> None:
    add(bench, rules(2))
    bench.do(ApproveDocument("RULES", effective="2026-03-04"), "cleo")
    bring_in_force(bench.site)
    assert states(bench) == ["waiting"]
    bench.clock.now += timedelta(days=2)
    bring_in_force(bench.site)
    assert states(bench) == ["approved"]
    before = bench.entries()
    bring_in_force(bench.site)
    assert bench.entries() == before


@pytest.mark.refuses("P11 11.10(k)(2)")
@pytest.mark.parametrize(
    ("day", "code"),
    [
        pytest.param("2026-03-01", "document.effective-past", id="yesterday"),
        pytest.param("1 April", "document.effective", id="no day"),
        pytest.param("2026-02-30", "document.effective", id="a day there is not"),
    ],
)
def test_what_is_no_day_to_begin(bench: Bench, day: str, code: str) -> None:
    add(bench, rules(1))
    assert refused(lambda: bench.do(ApproveDocument("RULES", effective=day), "cleo")) == code


def test_today_is_at_once(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES", effective="2026-03-02"), "cleo")
    assert states(bench) == ["approved"]


def test_a_version_does_not_overtake_one_that_waits(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES", effective="2026-03-09"), "cleo")
    add(bench, rules(2))
    assert refused(lambda: bench.do(ApproveDocument("RULES"), "cleo")) == "document.before-waiting"
    early = ApproveDocument("RULES", effective="2026-03-08")
    assert refused(lambda: bench.do(early, "cleo")) == "document.before-waiting"
    bench.do(ApproveDocument("RULES", effective="2026-03-09"), "cleo")
    bench.clock.now += timedelta(days=8)
    anything(bench)
    assert states(bench) == ["superseded", "approved"]
    assert whole(bench)


# ------------------------------------------------------------------ what the approver was shown


@pytest.mark.clause("A11 10")
def test_the_record_holds_what_the_approver_was_shown(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES"), "cleo")
    add(bench, rules(2))
    with bench.site.store.reading() as view:
        shown, _ = against_in_force(view, latest(view, "RULES"))
    assert shown.said()[1:-1] == ("late_entry_hours: 1 -> 2",)
    bench.do(ApproveDocument("RULES", seen=shown.figures), "cleo")
    with bench.site.store.reading() as view:
        (entry,) = [each for each in all_entries(view) if each.facts.get("compared_with") == 1]
        kept = view.bytes_of(entry.digests["comparison"])
    assert (kept, entry.digests["comparison"]) == (shown.content, digest(shown.content))
    value = parse_canonical(kept)
    assert isinstance(value, dict)
    assert isinstance(value["old"], dict)
    assert isinstance(value["new"], dict)
    assert (value["old"]["version"], value["new"]["version"]) == (1, 2)


@pytest.mark.refuses("A11 10")
def test_nobody_signs_a_change_that_is_not_the_one_looked_at(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES"), "cleo")
    add(bench, rules(2))
    with bench.site.store.reading() as view:
        shown, _ = against_in_force(view, latest(view, "RULES"))
    add(bench, rules(3))  # brought in between looking and signing
    act = ApproveDocument("RULES", seen=shown.figures)
    assert refused(lambda: bench.do(act, "cleo")) == "document.compared-other"
    assert states(bench) == ["approved", "draft", "draft"]


# ------------------------------------------------------------------ out of use


@pytest.mark.clause("P11 11.10(k)")
def test_a_withdrawn_document_counts_no_more_and_stays_readable(bench: Bench) -> None:
    add(bench, rules(4))
    bench.do(ApproveDocument("RULES"), "cleo")
    bench.do(WithdrawDocument("RULES", "rules come as a handbook"), "dora")
    assert (hours(bench), states(bench)) == (0, ["withdrawn"])
    with bench.site.store.reading() as view:
        assert b"late_entry_hours: 4" in view.bytes_of(named(view, "RULES@1")["source"])
    assert refused(lambda: bench.do(WithdrawDocument("RULES", "again"), "dora")) == "document.wrong-state"
    assert whole(bench)


@pytest.mark.parametrize(
    ("reason", "name", "code"),
    [
        pytest.param(" ", "cleo", "act.reason", id="no reason"),
        pytest.param("old", "ana", "act.role", id="an analyst"),
        pytest.param("old", "emil", "act.role", id="an administrator"),
    ],
)
def test_who_withdraws_nothing(bench: Bench, reason: str, name: str, code: str) -> None:
    add(bench, rules(4))
    bench.do(ApproveDocument("RULES"), "cleo")
    assert refused(lambda: bench.do(WithdrawDocument("RULES", reason), name)) == code


def test_one_that_waits_is_withdrawn_by_its_version(bench: Bench) -> None:
    add(bench, rules(1))
    bench.do(ApproveDocument("RULES"), "cleo")
    add(bench, rules(2))
    bench.do(ApproveDocument("RULES", effective="2026-03-09"), "cleo")
    bench.do(WithdrawDocument("RULES@2", "too soon"), "cleo")
    bench.clock.now += timedelta(days=8)
    anything(bench)
    assert (hours(bench), states(bench)) == (1, ["approved", "withdrawn"])
    assert refused(lambda: bench.do(WithdrawDocument("RULES@7", "x"), "cleo")) == "document.unknown"


# ------------------------------------------------------------------ new work takes what is in force


def test_the_reason_a_document_does_not_count_is_said(bench: Bench) -> None:
    def why(name: str) -> str:
        with bench.site.store.reading() as view:
            found = in_force(view, "site_rules", name)
            return found if isinstance(found, str) else f"in force: {found['version']}"

    assert why("RULES") == "there is no such document"
    add(bench, rules(1))
    assert why("RULES") == "version 1 is not approved"
    bench.do(ApproveDocument("RULES", effective="2026-03-03"), "cleo")
    assert why("RULES") == "version 1 counts from 2026-03-03"
    bench.clock.now += timedelta(days=2)
    add(bench, rules(2))
    bench.do(ApproveDocument("RULES"), "cleo")
    assert why("RULES") == why("RULES@2") == "in force: 2"
    assert why("RULES@1") == "version 1 is superseded; version 2 is in force"
    assert why("RULES@9") == "there is no version 9; version 2 is in force"
    bench.do(WithdrawDocument("RULES", "x"), "cleo")
    assert why("RULES") == "version 2 is withdrawn"


@pytest.mark.refuses("P11 11.10(k)")
@pytest.mark.parametrize("name", ["comma-utf8@1", "comma-utf8"], ids=["superseded, by its version", "withdrawn"])
def test_a_delivery_takes_no_profile_that_does_not_count(bench: Bench, name: str) -> None:
    text = starter("profiles/comma-utf8.yaml")
    add(bench, text)
    bench.do(ApproveDocument("comma-utf8"), "cleo")
    add(bench, text.replace("title: ", "title: New, ", 1))
    bench.do(ApproveDocument("comma-utf8"), "cleo")
    if "@" not in name:
        bench.do(WithdrawDocument("comma-utf8", "the receiver is gone"), "cleo")
    plan = PlanDelivery(name, str(bench.site.outbox))
    assert refused(lambda: bench.do(plan, "cleo")) == "export.profile-not-in-force"


@pytest.mark.refuses("P11 11.10(k)")
def test_a_sample_is_registered_against_no_specification_that_waits(bench: Bench) -> None:
    customers = "customer,name,address,contact\nardlea,Ardlea Ltd,1 Quay,Q. Hale\n"
    bench.do(AddRegister("customer", customers.encode(), "c.csv"), "ana")
    for name in ("methods/lead-flame-ware", "methods/cadmium-flame-ware"):
        add(bench, starter(f"{name}.yaml"))
        bench.do(ApproveDocument(name.partition("/")[2]), "cleo")
    add(bench, starter("specifications/flat-ware.yaml").replace("customer: ", "customer: ardlea  # "))
    bench.do(ApproveDocument("specification/flat-ware", effective="2026-03-09"), "cleo")
    header = (
        "lot,product,customer,specification,customer_sample_id,description,condition,quantity_received,received_on,"
        "sampled_on,sampled_by,order"
    )
    row = "L-1,Plate,ardlea,flat-ware,A,plate,whole,2,2026-03-02,,,"
    with pytest.raises(Stopped) as stop:
        bench.do(AddRegister("sample", f"{header}\n{row}\n".encode(), "s.csv"), "ana")
    found = {notice.code: notice.what for notice in stop.value.notices}
    assert "counts from 2026-03-09" in found["sample.specification-unknown"], found


def test_a_specification_may_wait_for_a_method_that_waits_too(bench: Bench) -> None:
    customers = "customer,name,address,contact\nardlea,Ardlea Ltd,1 Quay,Q. Hale\n"
    bench.do(AddRegister("customer", customers.encode(), "c.csv"), "ana")
    for name in ("methods/lead-flame-ware", "methods/cadmium-flame-ware"):
        add(bench, starter(f"{name}.yaml"))
        bench.do(ApproveDocument(name.partition("/")[2], effective="2026-03-09"), "cleo")
    add(bench, starter("specifications/flat-ware.yaml").replace("customer: ", "customer: ardlea  # "))
    early = ApproveDocument("specification/flat-ware", effective="2026-03-08")
    assert refused(lambda: bench.do(early, "cleo")) == "specification.method-not-in-force"
    bench.do(ApproveDocument("specification/flat-ware", effective="2026-03-09"), "cleo")


# ------------------------------------------------------------------ looked at again


@pytest.mark.clause("P11 11.10(k)")
def test_documents_are_due_after_the_time_the_rules_set(bench: Bench) -> None:
    add(bench, LAYOUT)
    bench.do(ApproveDocument("comma-list"), "cleo")
    add(bench, RULES.replace("document_review_months: 0", "document_review_months: 12"))
    bench.do(ApproveDocument("RULES"), "cleo")

    def due() -> list[str]:
        with bench.site.store.reading() as view:
            return sorted(row["id"] for row, _ in due_documents(view, bench.clock()))

    bench.clock.now += timedelta(days=365)
    assert due() == []
    bench.clock.now += timedelta(days=2)
    assert due() == ["RULES", "comma-list"]
    assert "doctor.document-due" in [one.code for one in examine(bench.site)]
    bench.do(ReviewDocument("comma-list", "the instrument still writes it so"), "dora")
    assert due() == ["RULES"]
    assert whole(bench)


def test_without_a_time_nothing_is_due(bench: Bench) -> None:
    add(bench, LAYOUT)
    bench.do(ApproveDocument("comma-list"), "cleo")
    bench.clock.now += timedelta(days=3650)
    with bench.site.store.reading() as view:
        assert due_documents(view, bench.clock()) == []


def test_only_a_document_in_force_is_reviewed(bench: Bench) -> None:
    add(bench, LAYOUT)
    assert refused(lambda: bench.do(ReviewDocument("comma-list", "fine"), "cleo")) == "document.wrong-state"
    assert refused(lambda: bench.do(ReviewDocument("comma-list", ""), "cleo")) == "act.reason"


def test_a_layout_cut_at_blanks_says_what_nothing_shows(bench: Bench) -> None:
    """Unless the column of kinds stands behind the names: there a part of a name is a kind nobody knows."""
    blanks = LAYOUT.replace('separator: ","', "separator: blanks").replace("id: comma-list", "id: blank-list")
    (_, said) = bench.do(AddDocument(_moved(blanks).encode(), "it.yaml"), "ana").said
    assert "a blank in a name" in said
    assert len(bench.do(AddDocument(blanks.encode(), "it.yaml"), "ana").said) == 1
    assert len(bench.do(AddDocument(LAYOUT.encode(), "it.yaml"), "ana").said) == 1


def _moved(layout: str) -> str:
    """The column of kinds before that of names."""
    lines = layout.split("\n")
    label = next(nth for nth, line in enumerate(lines) if "means: label" in line)
    lines[label], lines[label + 1] = lines[label + 1], lines[label]
    return "\n".join(lines)
