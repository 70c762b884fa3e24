"""What is amiss is named, each thing by its own finding; a site in order gives none but of copies and people."""

from __future__ import annotations

import os
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from benchseal import shipped_templates
from benchseal.desk import checkpoints
from benchseal.desk.acts_upkeep import NoteBackup, NoteBackupTest
from benchseal.upkeep.doctor import examine
from benchseal.upkeep.status import status

if TYPE_CHECKING:
    from tests.conftest import Bench, Stage


def codes(bench: Bench) -> list[str]:
    return [one.code for one in examine(bench.site)]


def in_order(bench: Bench) -> None:
    """A backup made and tested, a head signed."""
    bench.do(NoteBackup("b.zip", "ab" * 32, 1, 1, "cd" * 32), "emil")
    bench.do(NoteBackupTest("b.zip", "ab" * 32, 1, "cd" * 32, 0), "emil")
    checkpoints.make(bench.site)


def test_a_site_in_order_has_findings_about_single_people_only(bench: Bench) -> None:
    in_order(bench)
    assert set(codes(bench)) == {"doctor.qualification", "doctor.single-person", "doctor.site-rules"}
    said = {one.where for one in examine(bench.site) if one.code == "doctor.single-person"}
    assert said == {"p-ana.keel", "p-ben.marsh", "p-emil.holt"}  # there are two approvers


@pytest.mark.clause("A11 7.2")
def test_copies_that_are_too_old_or_never_made_are_named(bench: Bench) -> None:
    assert {"doctor.backup", "doctor.restore", "doctor.checkpoint"} <= set(codes(bench))
    in_order(bench)
    bench.clock.now += timedelta(days=6)
    assert {"doctor.backup", "doctor.restore"}.isdisjoint(codes(bench))
    assert "doctor.checkpoint" in codes(bench)
    bench.clock.now += timedelta(days=2)
    assert "doctor.backup" in codes(bench)
    assert "doctor.restore" not in codes(bench)
    bench.clock.now += timedelta(days=90)
    assert "doctor.restore" in codes(bench)


@pytest.mark.refuses("A11 7.2")
def test_a_backup_tested_with_findings_does_not_count_as_tested(bench: Bench) -> None:
    bench.do(NoteBackupTest("b.zip", "ab" * 32, 1, "cd" * 32, 2), "emil")
    assert "doctor.restore" in codes(bench)


def test_a_clock_behind_the_ledger_is_named(bench: Bench) -> None:
    in_order(bench)
    bench.clock.now -= timedelta(hours=1)
    assert "doctor.clock" in codes(bench)


@pytest.mark.skipif(os.name == "nt", reason="rights of this kind are POSIX")
def test_keys_that_others_can_read_or_that_are_gone_are_named(bench: Bench) -> None:
    in_order(bench)
    unlock = bench.site.private / "unlock"
    unlock.chmod(0o640)
    assert "doctor.key-readable" in codes(bench)
    unlock.unlink()
    assert codes(bench).count("doctor.key") == 2


def test_a_seal_that_ends_soon_is_named(bench: Bench) -> None:
    in_order(bench)
    bench.clock.now += timedelta(days=365 * 10 - 59)
    assert "doctor.seal-expiry" in codes(bench)


@pytest.mark.refuses("A11d 12.3")
def test_a_dropped_trigger_is_named(bench: Bench) -> None:
    import sqlite3  # noqa: PLC0415
    from contextlib import closing  # noqa: PLC0415

    in_order(bench)
    with closing(sqlite3.connect(bench.site.store.path)) as store:
        store.execute("DROP TRIGGER ledger_no_update")
        store.commit()
    assert any(code.startswith("integrity.") for code in codes(bench))


def test_the_demo_has_one_lot_held(stage: Stage) -> None:
    found = examine(stage.site)
    assert [one.where for one in found if one.code == "doctor.hold"] == ["lot A-2, Cd"]


def test_status_is_one_line_and_counts(bench: Bench) -> None:
    found = status(bench.site)
    assert "\n" not in found.line
    assert found.line.startswith("amiss: ")
    assert (found.backup_days, found.tested_days) == (-1, -1)
    in_order(bench)
    bench.clock.now += timedelta(days=3)
    assert status(bench.site).backup_days == 3
    assert "backup 3 d ago, restored 3 d ago" in status(bench.site).line


@pytest.mark.refuses("P11 11.10(a)")
def test_a_template_changed_on_disk_is_named(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "doctor.template" not in codes(bench)
    monkeypatch.setitem(shipped_templates.SHA256, "record.css", "00" * 32)
    (found,) = [one for one in examine(bench.site) if one.code == "doctor.template"]
    assert found.where == "report_templates/record.css"
