"""Somebody with the file and a database shell: every column of every table, triggers dropped, is found and named."""

from __future__ import annotations

import shutil
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from hashlib import sha256
from typing import TYPE_CHECKING, Any, cast

import pytest
from tests.conftest import cheap_hashes
from tests.journeys.test_one_run import in_two_racks, layout

from benchseal.desk import notices
from benchseal.desk.acts_certificates import (
    DraftCertificate,
    GivePreliminary,
    NoteHolderTold,
    PrintCertificate,
    SendCertificate,
    TellRecipient,
    WithdrawCertificate,
)
from benchseal.desk.acts_confirmations import ConfirmPreparation
from benchseal.desk.acts_corrections import CorrectPreparation
from benchseal.desk.acts_deliveries import AcknowledgeDelivery, SettleRows
from benchseal.desk.acts_documents import AddDocument, AddLayoutSample, ApproveDocument
from benchseal.desk.acts_exceptions import AddException
from benchseal.desk.acts_instruments import NoteInstrumentEvent
from benchseal.desk.acts_interface import MakeToken, RevokeToken
from benchseal.desk.acts_keys import RevokeKey, RotateKey
from benchseal.desk.acts_opinions import GiveOpinion
from benchseal.desk.acts_people import CheckRecovery, MakeRecovery, ResetPassword, UseRecovery
from benchseal.desk.acts_periodic import SignPeriodic
from benchseal.desk.acts_plans import MakePlan, PrintLabels
from benchseal.desk.acts_policies import AcknowledgePolicy
from benchseal.desk.acts_qualification import SignQualification
from benchseal.desk.acts_runs import AcceptRuns, CheckFile, IngestFile, SignShare, SubmitRuns
from benchseal.desk.acts_security import AcknowledgeEvents, ReviewAccess
from benchseal.desk.acts_trail import ReviewTrail
from benchseal.desk.acts_training import AddTraining
from benchseal.desk.acts_upkeep import NoteBackup
from benchseal.desk.admission import Password
from benchseal.desk.checking import verify_site
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.perform import perform
from benchseal.desk.periodic import listed as report_named
from benchseal.desk.periodic import report_of
from benchseal.desk.policies import policy_in_force
from benchseal.desk.read_log import note_read
from benchseal.desk.reading import all_entries
from benchseal.desk.rebuilding import rebuild_site
from benchseal.desk.security import access_list
from benchseal.desk.site import open_site
from benchseal.desk.trail import listed
from benchseal.ingest.joining import Joined, joined
from benchseal.problems import Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.qualification import Qualification
from benchseal.records.shape import record_bytes
from benchseal.shipped import starter
from benchseal.store import tables
from benchseal.store.replay import differences, replayed
from benchseal.upkeep.installation import installed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.conftest import Stage

    from benchseal.demo.play import Played
    from benchseal.desk.site import Site
    from benchseal.problems import Finding
    from benchseal.store.sqlite import SqliteReading

LATE_RULES = b"kind: site_rules\nid: RULES\ntitle: Rules of the site\nlate_entry_hours: 48\n"
TRUTH = [(table, column.name) for table, found in tables.truth.tables.items() for column in found.columns]
DERIVED = [(table, column.name) for table, found in tables.DERIVED.items() for column in found.columns]


def tampered(played: Played, folder: Path, *statements: str) -> tuple[Finding, ...]:
    """Findings of ``verify --all`` after SQL on a copy of the demo's store."""
    shutil.copytree(played.site.folder, folder)
    connection = sqlite3.connect(folder / "store.sqlite")
    for statement in statements:
        done = connection.execute(statement)
        assert done.rowcount != 0, "the attack changed nothing"
    connection.commit()
    connection.close()
    site = open_site(folder, hashes=cheap_hashes)
    findings = verify_site(site).findings
    site.store.close()
    return findings


def without_triggers(played: Played) -> list[str]:
    connection = sqlite3.connect(played.site.folder / "store.sqlite")
    names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
    connection.close()
    return [f"DROP TRIGGER {name}" for name in names]


def other(table: Any, column: str) -> str:  # noqa: ANN401  a table of either metadata
    """SQL for another value of a column's type."""
    kind = str(table.c[column].type)
    if kind == "INTEGER":
        return f"{column} + 1000"
    return f"CAST({column} || 'x' AS TEXT)" if kind == "TEXT" else f"CAST({column} || x'00' AS BLOB)"


@pytest.mark.refuses("17025 7.11.3")
@pytest.mark.refuses("P11 11.10", "P11 11.10(a)", "P11 11.10(e)", "A11 7.1")
@pytest.mark.parametrize(("table", "column"), TRUTH)
def test_every_column_of_the_truth(played: Played, tmp_path: Path, table: str, column: str) -> None:
    found = tables.truth.tables[table]
    change = f"UPDATE {table} SET {column} = {other(found, column)} WHERE rowid = (SELECT max(rowid) FROM {table})"  # noqa: S608
    findings = tampered(played, tmp_path / "site", *without_triggers(played), change)
    beside_triggers = [finding for finding in findings if finding.code != "integrity.schema"]
    assert beside_triggers, f"{table}.{column} changed unseen"
    assert all(finding.code.startswith("integrity.") and finding.where for finding in beside_triggers)


class Undo(Exception):  # noqa: N818  not an error: it undoes what a test did
    """Leaves a transaction without committing."""


def key(site: Site, person: str) -> Password:
    lines = (site.private / "demo-people.txt").read_text(encoding="utf-8").splitlines()
    return Password(person, dict(line.split("\t")[:2] for line in lines)[person])


def kept_busy(site: Site) -> None:
    """What the demo leaves out: backups, an envelope used, events, reviews, instruments, training, late entries."""
    administrator, approver, reviewer = "p-sil.penhallow", "p-ruth.calloway", "p-edda.farrow"
    by = partial(key, site)
    yesterday = datetime.now(UTC) - timedelta(days=1)
    assert note_read(replace(site, clock=lambda: yesterday), reviewer, "password", "run list", ()) is None
    tested = Qualification("qualification/1", installed(), (), "incomplete")
    signed = SignQualification(record_bytes(tested), digest(record_bytes(tested))[:8], "for the first use")
    perform(site, signed, by(administrator), by(approver))
    perform(site, NoteBackup("b.zip", "ab" * 32, 1, 1, "cd" * 32), by(administrator))
    code = "ef" * 32
    made = MakeRecovery(sha256(code.encode()).hexdigest(), ("Ada Brook", "Notary Hale"))
    perform(site, made, by(administrator), by(approver))
    perform(site, CheckRecovery(code), by(administrator))
    perform(site, ResetPassword("p-jonas.wick", "lent for one morning only", "forgotten"), by(administrator))
    perform(site, UseRecovery("p-jonas.wick", code, "passport seen", "nobody else is here"), by(administrator))
    with site.store.reading() as view:
        event = int(view.rows("security_event")[0]["event"])
        access = digest(canonical_bytes(access_list(view)))[:8]
        trail = listed([entry for entry in all_entries(view) if entry.subject == "run/R-00001"])
    perform(site, AcknowledgeEvents((event,), "seen"), by(administrator))
    perform(site, ReviewAccess(access, "all right"), by(approver))
    perform(site, ReviewTrail("run/R-00001", trail, "complete"), by(reviewer))
    with site.store.reading() as view:
        portion, size = view.rows("portion")[0], view.size()
        review = report_named(report_of(view, size, ()))
    row = f"{portion['batch']}/{portion['portion']}"
    perform(site, ConfirmPreparation((row,)), by(reviewer))
    perform(site, AddTraining("p-maren.holt", "role/analyst", "2099-12-31", "course sheet 14"), by(approver))
    perform(site, SignPeriodic(review, (), "all right"), by(approver))
    _planned_and_answered(site, by)
    perform(site, AddDocument(LATE_RULES, "rules.yaml"), by("p-maren.holt"))
    perform(site, ApproveDocument("RULES"), by(approver))
    late = NoteInstrumentEvent("flame-1", "service", "done", at="2026-01-05T09:00:00", late_because="on paper till now")
    perform(site, late, by(reviewer))
    with site.store.reading() as view:
        old = next(row["key_id"] for row in view.rows("site_key", key="tree"))
    perform(site, RotateKey("tree", "once a year"), by(administrator), by(approver))
    perform(site, RevokeKey(old, "2026-01-01", "the disk was sold"), by(administrator), by(approver))
    perform(site, GiveOpinion("B-2", "The lot is like the one before", "results of A-1"), by(approver))
    kept_telling(site)
    _looked_and_withdrawn(site, by)
    until = f"{datetime.now(UTC):%Y-%m-%d}"
    excepted = AddException("reviewer_is_approver", approver, until, "another laboratory looks", "two people")
    perform(site, excepted, by(approver), by(administrator))
    _acknowledged_and_let_in(site, by)
    _came_in_two_files(site, by)


def _came_in_two_files(site: Site, by: Callable[[str], Password]) -> None:
    """A run that its instrument wrote rack by rack."""
    perform(site, AddDocument(layout().encode(), "rack-list.yaml"), by("p-tobias.quill"))
    perform(site, ApproveDocument("rack-list"), by("p-ruth.calloway"))
    text = (site.folder / "inbox" / "vapour-mercury.csv").read_text(encoding="utf-8")
    racks = joined([(f"rack-{nth}.csv", one.encode()) for nth, one in enumerate(in_two_racks(text), 1)])
    assert isinstance(racks, Joined)
    why = "written by racks"
    came = IngestFile(
        racks.data, racks.name, "", (), late_because=why, stands="both", stands_because=why, parts=racks.parts
    )
    done = perform(site, came, by("p-tobias.quill"))
    assert done.data["runs"], done


def _acknowledged_and_let_in(site: Site, by: Callable[[str], Password]) -> None:
    """A policy acknowledged; a system with a token, revoked again."""
    administrator, approver = "p-sil.penhallow", "p-ruth.calloway"
    policy = starter("policies/signing.yaml").encode()
    perform(site, AddDocument(policy, "signing.yaml"), by("p-edda.farrow"))
    perform(site, ApproveDocument("SIGNING"), by(approver))
    with site.store.reading() as view:
        seen = policy_in_force(view, "SIGNING")[0]["value"][:8]
    perform(site, AcknowledgePolicy("SIGNING", seen), by(administrator))
    perform(site, AcknowledgePolicy("SIGNING", seen), by(approver))
    granted = MakeToken("their system", ("results",), ("ardlea",), f"{datetime.now(UTC):%Y-%m-%d}", "ordered")
    perform(site, granted, by(administrator), by(approver))
    perform(site, RevokeToken("SY-00001", "replaced"), by(administrator))


def _planned_and_answered(site: Site, by: Callable[[str], Password]) -> None:
    _planned(site, by)
    _answered(site, by)


def _answered(site: Site, by: Callable[[str], Password]) -> None:
    """A delivery of which one row was not taken, and what was done about it."""
    with site.store.reading() as view:
        name = str(view.rows("delivery")[0]["delivery_id"])
    said = f"delivery_id,state,row_no,reason\n{name},rejected,1,sample unknown\n{name},rejected,2,sample unknown\n"
    perform(site, AcknowledgeDelivery(said.encode(), "answer.txt"), by("p-ruth.calloway"))
    perform(site, SettleRows(name, (1,), "entered by hand"), by("p-ruth.calloway"))


def _planned(site: Site, by: Callable[[str], Password]) -> None:
    """A run plan, and one of its labels printed twice."""
    sheet = b"sample,volume_ml\nS-00001,50.0\n"
    perform(site, MakePlan(("zinc-flame",), sheet, "samples.csv"), by("p-maren.holt"))
    with site.store.reading() as view:
        number, mark = plan_and_mark(view)
    for reason in ("", "smeared"):
        perform(site, PrintLabels(number, (f"{mark}-01a",), reason=reason), by("p-maren.holt"))


def plan_and_mark(view: SqliteReading) -> tuple[str, str]:
    """The last plan and what its labels begin with."""
    number = str(view.rows("plan")[-1]["plan"])
    return number, f"P{int(number.removeprefix('PL-'))}"


def _looked_and_withdrawn(site: Site, by: Callable[[str], Password]) -> None:
    """A file looked at; a certificate sent, printed, withdrawn with its notice, and somebody told."""
    ware = (site.folder / "inbox" / "flame-ware.txt").read_bytes()
    perform(site, CheckFile(ware, "flame-ware.txt", "", ()), by("p-maren.holt"))
    brought = perform(
        site, IngestFile(ware, "flame-ware.txt", "", (), late_because="on paper till now"), by("p-tobias.quill")
    )
    runs = tuple(str(run) for run in cast("list[str]", brought.data["runs"]))
    perform(site, SubmitRuns(runs), by("p-tobias.quill"))
    perform(site, SignShare(runs), by("p-maren.holt"))
    again = IngestFile(ware.replace(b"Room;", b"Room;1"), "again.txt", "", (), stands="earlier", stands_because="twice")
    perform(site, replace(again, late_because="on paper till now"), by("p-tobias.quill"))
    perform(site, AddLayoutSample("semicolon-sections", ware, "flame-ware.txt", ""), by("p-maren.holt"))
    with site.store.reading() as view:
        number = str(view.rows("certificate", lot="B-1")[0]["number"])
    perform(site, SendCertificate(number, "J. Reed, purchasing", "mail"), by("p-maren.holt"))
    perform(site, PrintCertificate(number, "J. Reed, purchasing", "their batch folder"), by("p-maren.holt"))
    perform(site, WithdrawCertificate(number, "of another lot"), by("p-ruth.calloway"))
    notices.finish(site, number)
    perform(site, TellRecipient(number, "J. Reed, purchasing", "telephone"), by("p-maren.holt"))


def kept_telling(site: Site) -> None:
    """Preliminary figures, corrected after they were given; who has them is told. Then a correction left open."""
    analyst, reviewer, approver = (key(site, name) for name in ("p-maren.holt", "p-edda.farrow", "p-ruth.calloway"))
    perform(site, GivePreliminary("A-2", "J. Reed, purchasing", "the lot waits"), approver)
    corrected(site, "AY-01/Y-A2/1", analyst, reviewer)
    with site.store.reading() as view:
        runs = tuple(str(row["run"]) for row in view.rows("run", correcting=1))
        number = str(view.rows("preliminary")[0]["number"])
    perform(site, SubmitRuns(runs), analyst)
    perform(site, AcceptRuns(runs), reviewer)
    perform(site, NoteHolderTold(number, "J. Reed, purchasing", "by telephone"), approver)
    corrected(site, "AY-01/Y-A1/1", analyst, reviewer)


def corrected(site: Site, row: str, *people: Password) -> None:
    wrong = CorrectPreparation(row, ("mass_g=1.0001",), "two figures were exchanged", "")
    with site.store.reading() as view:
        shown = plan(view, site.ledger, stamp(site.clock()), wanted_by(wrong))
    perform(site, replace(wrong, effect=shown.figures), *people)


@pytest.fixture(scope="module")
def replay(played: Played, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Site, SqliteReading]]:
    """The demo's site, kept busy, and its replay, made once."""
    folder = tmp_path_factory.mktemp("busy") / "site"
    shutil.copytree(played.site.folder, folder)
    site = open_site(folder, hashes=cheap_hashes)
    kept_busy(site)
    with site.store.reading() as view:
        again = replayed(view, site.ledger)
    with again.reading() as model:
        yield site, model
    again.close()
    site.store.close()


@pytest.mark.refuses("P11 11.10", "P11 11.10(a)", "A11 7.1")
@pytest.mark.parametrize(("table", "column"), DERIVED)
def test_every_column_of_every_derived_table(replay: tuple[Site, SqliteReading], table: str, column: str) -> None:
    site, model = replay
    found = tables.DERIVED[table]
    change = f"UPDATE {table} SET {column} = {other(found, column)} WHERE rowid = (SELECT min(rowid) FROM {table})"  # noqa: S608
    with pytest.raises(Undo), site.store.writing() as tx:
        done = tx._connection.exec_driver_sql(change)  # noqa: SLF001  what a database shell would do
        assert done.rowcount == 1, f"the demo leaves {table} empty: widen it"
        findings = differences(tx, model)
        assert findings
        assert all(finding.where.startswith(f"{table} ") for finding in findings)
        assert column in findings[0].what or len(findings) == 2  # a key changed: one row missing, one too many
        raise Undo


@pytest.mark.refuses("A11d 12.1", "A11 12.3")
@pytest.mark.refuses("P11 11.10(a)", "P11 11.70", "DI Q4")
@pytest.mark.parametrize(
    ("statement", "code"),
    [
        pytest.param("DELETE FROM ledger WHERE seq = 40", "integrity.sequence-gap", id="an entry taken out"),
        pytest.param(
            "DELETE FROM ledger WHERE seq = (SELECT max(seq) FROM ledger)",
            "integrity.tail-missing",
            id="the end cut off",
        ),
        pytest.param(
            "INSERT INTO ledger SELECT -5, body, leaf, head FROM ledger WHERE seq = 1",
            "integrity.sequence",
            id="an entry put before the first",
        ),
        pytest.param("DELETE FROM objects WHERE rowid = 30", "integrity.object-missing", id="an object taken out"),
        pytest.param("DELETE FROM signature WHERE rowid = 1", "integrity.derived-row", id="a signature taken out"),
        pytest.param("UPDATE password SET hash = hash || 'x'", "integrity.password-hash", id="a password swapped"),
        pytest.param(
            "INSERT INTO role SELECT person, 'approver', 1, seq FROM role WHERE role = 'analyst' LIMIT 1",
            "integrity.derived-row",
            id="a role given to oneself",
        ),
    ],
)
def test_rows_taken_out_or_put_in(played: Played, tmp_path: Path, statement: str, code: str) -> None:
    findings = tampered(played, tmp_path / "site", *without_triggers(played), statement)
    assert code in {finding.code for finding in findings}, findings


def test_rebuild_puts_derived_rows_right_and_nothing_else(played: Played, tmp_path: Path) -> None:
    folder = tmp_path / "site"
    findings = tampered(played, folder, "UPDATE result SET verdict = 'pass'", "DELETE FROM hold")
    assert findings
    site = open_site(folder, hashes=cheap_hashes)
    assert rebuild_site(site) >= 2
    assert verify_site(site).findings == ()
    assert rebuild_site(site) == 0
    site.store.close()


def test_a_changed_run_secret_stops_a_certificate_before_it_has_a_number(stage: Stage) -> None:
    with stage.site.store.writing() as tx:
        for row in tx.rows("run_secret"):
            tx.put_private("run_secret", {**row, "secret": bytes(32)})
    with pytest.raises(Stopped) as stop:
        perform(stage.site, DraftCertificate("B-2", ""), stage.key("p-maren.holt"))
    assert stop.value.notices[0].code == "integrity.run-secret"


NOT_STRICT = (
    "PRAGMA writable_schema = ON",
    "UPDATE sqlite_master SET sql = replace(sql, ' STRICT', '') WHERE type = 'table'",
    "PRAGMA writable_schema = RESET",
)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        pytest.param("UPDATE ledger SET body = CAST(body AS TEXT) WHERE seq = 50", "integrity.leaf", id="body as text"),
        pytest.param("UPDATE ledger SET body = '' WHERE seq = 50", "integrity.leaf", id="body emptied"),
        pytest.param("UPDATE ledger SET leaf = 'x' WHERE seq = 50", "integrity.leaf", id="leaf as text"),
        pytest.param("UPDATE ledger SET head = 7 WHERE seq = 50", "integrity.chain", id="head as a number"),
        pytest.param(
            "UPDATE objects SET body = body || x'20' WHERE rowid = 40",
            "integrity.object",
            id="object as text, no UTF-8",
        ),
        pytest.param("UPDATE objects SET body = 5 WHERE rowid = 40", "integrity.object", id="object as a number"),
        pytest.param("UPDATE tree_node SET hash = 'x' WHERE level = 1", "integrity.tree-node", id="subtree as text"),
        pytest.param("UPDATE person SET printed_name = x'ff00'", "integrity.derived-row", id="a name as bytes"),
    ],
)
def test_a_value_of_another_type_is_named_and_stops_no_other_look(
    played: Played, tmp_path: Path, change: str, code: str
) -> None:
    """Found by an attack: such a body once ended the whole check with a fault of the program."""
    folder = tmp_path / "site"
    shutil.copytree(played.site.folder, folder)
    connection = sqlite3.connect(folder / "store.sqlite", isolation_level=None)
    for statement in (*without_triggers(played), *NOT_STRICT, change, "DELETE FROM hold"):
        connection.execute(statement)
    connection.close()
    site = open_site(folder, hashes=cheap_hashes)
    findings = verify_site(site).findings
    site.store.close()
    assert code in {finding.code for finding in findings}, findings
    assert any(finding.where.startswith("hold ") for finding in findings) or "integrity.unreadable" in {
        finding.code for finding in findings
    }


@pytest.mark.refuses("A11 7.1")
def test_the_tables_refuse_another_type(played: Played, tmp_path: Path) -> None:
    shutil.copytree(played.site.folder, tmp_path / "site")
    connection = sqlite3.connect(tmp_path / "site" / "store.sqlite")
    for statement in without_triggers(played):
        connection.execute(statement)
    with pytest.raises(sqlite3.IntegrityError, match="TEXT value in BLOB"):
        connection.execute("UPDATE ledger SET body = CAST(body AS TEXT) WHERE seq = 50")
    connection.close()


@pytest.mark.refuses("P11 11.200(a)(3)")
@pytest.mark.parametrize(
    ("statement", "code"),
    [
        pytest.param("DELETE FROM run_secret", "integrity.run-secret", id="run secrets lost"),
        pytest.param("UPDATE run_secret SET secret = zeroblob(32)", "integrity.run-secret", id="run secrets changed"),
        pytest.param("UPDATE run_secret SET secret = x'00'", "integrity.run-secret", id="run secrets cut"),
        pytest.param("DELETE FROM password", "integrity.password-hash", id="password hashes lost"),
    ],
)
def test_private_rows_lost_or_changed(played: Played, tmp_path: Path, statement: str, code: str) -> None:
    findings = tampered(played, tmp_path / "site", statement)
    assert {finding.code for finding in findings} == {code}
