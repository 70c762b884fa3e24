"""The trail in use: found by every field, all about one lot, old and new, reviewed by somebody without a part."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import FLAME, rules
from tests.desk.test_accounts import refused
from tests.desk.test_corrections import MASS
from tests.desk.test_corrections import do as correct

from benchseal.desk.acts_certificates import ApproveCertificate, DiscardCertificate, DraftCertificate
from benchseal.desk.acts_people import ChangeRole
from benchseal.desk.acts_runs import AcceptRuns, SubmitRuns
from benchseal.desk.acts_trail import ReviewTrail
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.reading import all_entries
from benchseal.desk.trail import Wanted, changes, find, listed, of_lot, require_day
from benchseal.desk.trail_csv import trail_csv
from benchseal.problems import Stopped
from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.records.entries import Entry
from benchseal.records.people import Role

if TYPE_CHECKING:
    from tests.conftest import Stage

REVIEWER, APPROVER, ANALYST, ADMIN = "p-edda.farrow", "p-ruth.calloway", "p-tobias.quill", "p-sil.penhallow"


def found(stage: Stage, **asked: str) -> list[Entry]:
    with stage.site.store.reading() as view:
        return list(find(view, Wanted(**asked)))


def figures(stage: Stage, subject: str) -> str:
    return listed([entry for entry in found(stage, subject=subject) if entry.kind != "trail.reviewed"])


# ------------------------------------------------------------------ finding


@pytest.mark.clause("A11d 12.4")
def test_every_field_narrows_what_is_found(stage: Stage) -> None:
    everything = found(stage)
    by_who, by_kind = found(stage, who=ANALYST), found(stage, kind="run.ingested")
    assert {entry.actor for entry in by_who} == {ANALYST}
    assert found(stage, who="tobias.quill") == by_who
    assert {entry.kind for entry in by_kind} == {"run.ingested"}
    assert {entry.kind.partition(".")[0] for entry in found(stage, kind="run")} == {"run"}
    assert {entry.subject for entry in found(stage, subject="run/R-00001")} == {"run/R-00001"}
    assert found(stage, subject="R-00001") == found(stage, subject="run/R-00001")
    day = everything[0].at[:10]
    assert found(stage, since=day) == everything
    assert found(stage, until="2000-01-01") == found(stage, since="2999-01-01") == []
    both = found(stage, who=ANALYST, kind="run.ingested")
    assert both == [entry for entry in by_kind if entry.actor == ANALYST] != []


@pytest.mark.refuses("A11d 12.4")
def test_no_entry_hides_from_a_search_by_what_it_says(stage: Stage) -> None:
    """NEG: one entry of the whole demo that its own person, act, subject, day or reason does not find."""
    entries = found(stage)
    by_asked: dict[tuple[str, str], set[int]] = {}
    missed = []
    for entry in entries:
        asked = [("who", entry.actor), ("kind", entry.kind), ("kind", entry.kind.partition(".")[0])]
        asked += [("subject", entry.subject), ("text", entry.subject.upper())]
        asked += [("text", entry.reason.swapcase())] if entry.reason else []
        for field, text in asked:
            if (field, text) not in by_asked:
                by_asked[field, text] = {one.seq for one in found(stage, **{field: text})}
            if entry.seq not in by_asked[field, text]:
                missed.append((entry.seq, field, text))
    days = {entry.at[:10] for entry in entries}
    of_days = [one.seq for day in sorted(days) for one in found(stage, since=day, until=day)]
    assert missed == []
    assert sorted(of_days) == [entry.seq for entry in entries]


def test_text_is_found_in_subject_reason_and_facts_whatever_its_capitals(stage: Stage) -> None:
    assert [entry.kind for entry in found(stage, text="C-2026-00001", kind="certificate.released")]
    assert found(stage, text="PENHALLOW") == found(stage, text="penhallow") != []
    assert found(stage, text="no such words anywhere") == []


def test_a_day_that_is_none_is_said() -> None:
    assert require_day("", "--from") == ""
    assert require_day("2026-03-02", "--from") == "2026-03-02"
    assert refused(lambda: require_day("2 March", "--from")) == "ledger.day"


# ------------------------------------------------------------------ one lot


@pytest.mark.clause("A11 9", "PI041 available")
def test_one_lot_is_told_from_its_sample_to_its_delivery_and_no_other_lot_is(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        certificate = view.row("certificate", number="C-2026-00001")
        assert certificate is not None
        sample, entries = of_lot(view, certificate["lot"])
        others = {f"sample/{row['sample']}" for row in view.rows("sample")} - {f"sample/{sample}"}
        others |= {f"certificate/{row['number']}" for row in view.rows("certificate")} - {"certificate/C-2026-00001"}
    assert sample == certificate["sample"]
    kinds = [entry.kind for entry in entries]
    assert kinds[0] == "sample.added"
    assert {"preparation.added", "run.ingested", "run.reviewed", "certificate.released", "delivery.done"} <= set(kinds)
    assert [entry.seq for entry in entries] == sorted(entry.seq for entry in entries)
    assert others.isdisjoint({entry.subject for entry in entries})


def test_an_unknown_lot_is_said(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        assert refused(lambda: of_lot(view, "no-such-lot")) == "lot.unknown"


# ------------------------------------------------------------------ old and new


@pytest.mark.clause("P11 11.10(e)", "A11d 12.2")
def test_what_an_entry_changed_is_told_value_by_value(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        work = [entry for entry in all_entries(view) if entry.kind == "certificate.sealing"]
        before = next(iter(work)).digests["evidence"]
    with stage.site.store.writing() as tx:
        evidence = parse_canonical(tx.bytes_of(before))
        assert isinstance(evidence, dict)
        after = tx.keep(canonical_bytes({**evidence, "program": "other", "packets": []}))
    entries = [
        Entry(seq, "x.y", f"2026-03-02T08:00:0{seq}.000Z", "p-a", "x/1", digests={"evidence": name})
        for seq, name in ((1, before), (2, before), (3, after))
    ]
    with stage.site.store.reading() as view:
        told = changes(view, entries)
    assert list(told) == [3]
    assert any(line.startswith("evidence: program: ") and line.endswith("-> other") for line in told[3])


def test_many_changes_are_cut_and_counted(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        runs = [entry for entry in all_entries(view) if entry.kind == "run.ingested"][:2]
        alike = [Entry(entry.seq, entry.kind, entry.at, entry.actor, "run/x", digests=entry.digests) for entry in runs]
        told = changes(view, alike)
    lines = told[alike[1].seq]
    assert lines[-1].endswith(" more") or len(lines) <= 40 * len(alike[1].digests)


# ------------------------------------------------------------------ reviewing


@pytest.mark.clause("A11 9", "DI Q7")
@pytest.mark.refuses("A11 9")
def test_a_review_names_what_was_looked_at_and_nothing_added_since(stage: Stage) -> None:
    subject = "run/R-00001"
    seen = figures(stage, subject)
    perform(stage.site, ReviewTrail(subject, seen, "complete"), stage.key(APPROVER))
    assert figures(stage, subject) == seen  # a review does not change the list
    wrong = ReviewTrail(subject, "00000000", "complete")
    assert refused(lambda: perform(stage.site, wrong, stage.key(APPROVER))) == "trail.changed"
    assert verify_site(stage.site).findings == ()


@pytest.mark.clause("A11d 12.6")
@pytest.mark.refuses("A11d 12.6", "DI Q7")
def test_nobody_reviews_a_trail_with_an_entry_of_their_own(stage: Stage) -> None:
    subject = "run/R-00001"
    operator = next(entry.actor for entry in found(stage, subject=subject, kind="run.ingested"))
    give = ChangeRole(operator, Role.REVIEWER, gives=True, reason="trained")
    perform(stage.site, give, stage.key(ADMIN))
    act = ReviewTrail(subject, figures(stage, subject), "complete")
    assert refused(lambda: perform(stage.site, act, stage.key(operator))) == "duty.own-work"
    perform(stage.site, act, stage.key(REVIEWER))  # accepting it was checking, and bars nobody


@pytest.mark.refuses("A11 9", "DI Q7")
@pytest.mark.parametrize(
    ("subject", "comment", "person", "code"),
    [
        ("run/R-99999", "complete", REVIEWER, "ledger.unknown"),
        ("run/R-00001", " ", REVIEWER, "act.reason"),
        ("run/R-00001", "complete", ADMIN, "act.role"),
    ],
)
def test_what_is_no_review(stage: Stage, subject: str, comment: str, person: str, code: str) -> None:
    act = ReviewTrail(subject, "00000000", comment)
    assert refused(lambda: perform(stage.site, act, stage.key(person))) == code


# ------------------------------------------------------------------ before approval, where the rules ask for it


def drafted(stage: Stage) -> tuple[str, list[str]]:
    """A certificate of a lot whose runs wait for nothing else, and its runs."""
    number = str(perform(stage.site, DraftCertificate("B-2", ""), stage.key(FLAME)).data["number"])
    with stage.site.store.reading() as view:
        return number, [row["run"] for row in view.rows("certificate_run", number=number)]


def unreviewed(stage: Stage, number: str) -> list[str]:
    """Runs whose trail nobody has looked at whole, as the refusal names them."""
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    assert {one.code for one in stop.value.notices} == {"trail.unreviewed"}
    return [one.where for one in stop.value.notices]


@pytest.mark.clause("DI Q8")
@pytest.mark.refuses("DI Q8")
def test_nothing_is_approved_before_the_trail_of_each_run_was_looked_at(stage: Stage) -> None:
    rules(stage, "trail_review: required")
    number, runs = drafted(stage)
    assert unreviewed(stage, number) == [f"run/{run}" for run in runs]
    for left, run in enumerate(runs, 1):
        subject = f"run/{run}"
        perform(stage.site, ReviewTrail(subject, figures(stage, subject), "complete"), stage.key(REVIEWER))
        if left < len(runs):
            assert unreviewed(stage, number) == [f"run/{each}" for each in runs[left:]]
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("DI Q8", "A11 9")
def test_a_review_of_a_trail_does_not_cover_what_was_done_later(stage: Stage) -> None:
    """NEG: looked at once, then a mass is corrected, and everything is reviewed and drafted again."""
    rules(stage, "trail_review: required")
    number, runs = drafted(stage)
    perform(stage.site, DiscardCertificate(number, "to be corrected"), stage.key(FLAME))
    for run in runs:
        subject = f"run/{run}"
        perform(stage.site, ReviewTrail(subject, figures(stage, subject), "complete"), stage.key(REVIEWER))
    correct(stage, MASS, FLAME, REVIEWER)
    with stage.site.store.reading() as view:
        again = tuple(run for run in runs if (view.row("run", run=run) or {})["state"] != "reviewed")
    assert again
    perform(stage.site, SubmitRuns(again), stage.key(FLAME))
    perform(stage.site, AcceptRuns(again), stage.key(REVIEWER))
    number, _ = drafted(stage)
    assert unreviewed(stage, number) == [f"run/{run}" for run in again]


# ------------------------------------------------------------------ as a file


@pytest.mark.clause("P11 11.10(b)", "A11d 12.4")
def test_the_trail_as_csv_reads_back_and_runs_nowhere(stage: Stage) -> None:
    entries = found(stage)
    rows = list(csv.DictReader(io.StringIO(trail_csv(entries).decode(), newline="")))
    assert [int(row["entry"]) for row in rows] == [entry.seq for entry in entries]
    assert [row["subject"] for row in rows] == [entry.subject for entry in entries]
    risky = Entry(1, "x.y", "2026-03-02T08:00:00.000Z", "p-a", "x/1", reason="=cmd()")
    assert list(csv.reader(io.StringIO(trail_csv([risky]).decode())))[1][5] == "'=cmd()"
