"""Backups: whole, signed, put back elsewhere; every way an altered one differs is named, and nothing is overwritten."""

from __future__ import annotations

import json
import sqlite3
import threading
import zipfile
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING

import pytest

from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.acts_upkeep import NoteBackup, NoteBackupTest
from benchseal.desk.admission import sign_in
from benchseal.desk.backups import note_restored
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import require_able
from benchseal.desk.site import open_site
from benchseal.problems import Finding, Problem, Stopped
from benchseal.records.canonical import canonical_bytes
from benchseal.upkeep.backup import MANIFEST, make_backup
from benchseal.upkeep.restore import restore, unpacked

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.conftest import Bench

    from benchseal.desk.site import Site


def members(backup: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(backup) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def write(backup: Path, parts: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(backup, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return backup


def stopped(work: Callable[[], object]) -> list[str]:
    with pytest.raises(Stopped) as found:
        work()
    return [one.code for one in found.value.notices]


def opened(backup: Path) -> None:
    with unpacked(backup):
        pass


def entries(site: Site) -> int:
    with site.store.reading() as view:
        return view.size()


@pytest.mark.clause("17025 7.11.3")
@pytest.mark.clause("A11 7.2", "P11 11.10(c)", "17025 8.4")
def test_a_backup_put_back_elsewhere_is_the_site_as_it_was(bench: Bench, tmp_path: Path) -> None:
    made = make_backup(bench.site, tmp_path / "b.zip")
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    contents = restore(tmp_path / "b.zip", tmp_path / "again")
    again = open_site(tmp_path / "again", clock=bench.clock)
    try:
        assert (contents.entries, contents.root) == (made.entries, made.root)
        assert entries(again) == made.entries == entries(bench.site) - 1
        assert verify_site(again).findings == ()
        assert made.signed
    finally:
        again.store.close()


def test_no_key_and_no_open_session_is_in_a_backup(bench: Bench, tmp_path: Path) -> None:
    sign_in(bench.site, bench.key("ana"))
    make_backup(bench.site, tmp_path / "b.zip")
    parts = members(tmp_path / "b.zip")
    assert sorted(parts) == ["benchseal.toml", MANIFEST, "store.sqlite", "trust.json"]
    (tmp_path / "store.sqlite").write_bytes(parts["store.sqlite"])
    with closing(sqlite3.connect(tmp_path / "store.sqlite")) as store:
        assert store.execute("SELECT count(*) FROM session").fetchone() == (0,)
        assert store.execute("SELECT count(*) FROM password").fetchone() == (5,)
    unlock = (bench.site.private / "unlock").read_bytes().strip()
    assert all(unlock not in data for data in parts.values())


def test_only_its_owner_can_read_a_backup(bench: Bench, tmp_path: Path) -> None:
    """It holds password hashes."""
    make_backup(bench.site, tmp_path / "b.zip")
    assert (tmp_path / "b.zip").stat().st_mode & 0o077 == 0


@pytest.mark.clause("A11 7.2")
def test_a_backup_made_while_others_write_holds_whole_acts(bench: Bench, tmp_path: Path) -> None:
    done = threading.Event()

    def work() -> None:
        for turn in range(12):
            bench.do(UnlockPerson("p-ana.keel", f"turn {turn}"), "emil")
        done.set()

    thread = threading.Thread(target=work)
    thread.start()
    nth = 0
    while not done.is_set() or nth == 0:
        make_backup(bench.site, tmp_path / f"{nth}.zip")
        with unpacked(tmp_path / f"{nth}.zip") as (again, contents):
            assert verify_site(again).findings == ()
            assert contents.entries == entries(again)
        nth += 1
    thread.join()


def test_a_site_put_back_says_so_in_its_first_new_entry(bench: Bench, tmp_path: Path) -> None:
    made = make_backup(bench.site, tmp_path / "b.zip")
    restore(tmp_path / "b.zip", tmp_path / "again")
    again = open_site(tmp_path / "again", clock=bench.clock)
    try:
        assert note_restored(again, "b.zip", made.sha256, made.entries, made.root) == made.entries + 1
        assert verify_site(again).findings == ()
    finally:
        again.store.close()


# ------------------------------------------------------------------ what is refused


@pytest.mark.refuses("A11 7.2")
def test_nothing_is_overwritten(bench: Bench, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_bytes(b"mine")
    assert stopped(lambda: make_backup(bench.site, tmp_path / "b.zip")) == ["backup.exists"]
    assert (tmp_path / "b.zip").read_bytes() == b"mine"
    make_backup(bench.site, tmp_path / "good.zip")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "note").write_text("mine")
    assert stopped(lambda: restore(tmp_path / "good.zip", tmp_path / "full")) == ["restore.not-empty"]
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["note"]


def test_what_a_restore_left_half_done_is_not_used(bench: Bench, tmp_path: Path) -> None:
    make_backup(bench.site, tmp_path / "b.zip")
    (tmp_path / "again.part").mkdir()
    assert stopped(lambda: restore(tmp_path / "b.zip", tmp_path / "again")) == ["restore.left-over"]


def test_a_folder_that_cannot_take_a_backup_leaves_nothing(bench: Bench, tmp_path: Path) -> None:
    assert stopped(lambda: make_backup(bench.site, tmp_path / "missing" / "b.zip")) == ["backup.not-made"]


def _store_changed(parts: dict[str, bytes]) -> None:
    data = bytearray(parts["store.sqlite"])
    data[data.index(b"Ana Keel") + 1] ^= 1  # a letter of a text: a byte of the file's own build would stop its reader
    parts["store.sqlite"] = bytes(data)


def _listed(parts: dict[str, bytes], **changes: object) -> None:
    manifest = json.loads(parts[MANIFEST])
    manifest.update(changes)
    parts[MANIFEST] = canonical_bytes(manifest)


def _relisted(parts: dict[str, bytes]) -> None:
    """Another store, listed with its own digest: only the signature shows it."""
    import hashlib  # noqa: PLC0415

    _store_changed(parts)
    manifest = json.loads(parts[MANIFEST])
    for one in manifest["files"]:
        one["sha256"] = hashlib.sha256(parts[one["name"]]).hexdigest()
    parts[MANIFEST] = canonical_bytes(manifest)


def _longer(parts: dict[str, bytes]) -> None:
    parts["trust.json"] += b" "


def _shorter(parts: dict[str, bytes]) -> None:
    parts["trust.json"] = parts["trust.json"][:-1]


def _climbing(parts: dict[str, bytes]) -> None:
    manifest = json.loads(parts[MANIFEST])
    manifest["files"][0]["name"] = "../escaped"
    parts["../escaped"] = parts.pop("benchseal.toml")
    parts[MANIFEST] = canonical_bytes(manifest)


ALTERED = [
    pytest.param(_store_changed, "backup.altered", id="one byte of the store"),
    pytest.param(_relisted, "backup.altered", id="the store and its digest in the list"),
    pytest.param(_longer, "backup.altered", id="a byte more than listed"),
    pytest.param(_shorter, "backup.altered", id="a byte less than listed"),
    pytest.param(lambda parts: parts.update(extra=b"x"), "backup.contents", id="a file that is not listed"),
    pytest.param(lambda parts: parts.pop("trust.json"), "backup.contents", id="a listed file is missing"),
    pytest.param(lambda parts: _listed(parts, entries=7), "backup.altered", id="more entries than it holds"),
    pytest.param(lambda parts: _listed(parts, at="2020-01-01T00:00:00.000Z"), "backup.altered", id="another time"),
    pytest.param(lambda parts: _listed(parts, ledger="bs-0"), "backup.altered", id="another ledger"),
    pytest.param(lambda parts: _listed(parts, schema="backup/2"), "backup.unreadable", id="another form"),
    pytest.param(lambda parts: _listed(parts, more=1), "backup.unreadable", id="an unknown member of the list"),
    pytest.param(lambda parts: _listed(parts, files=[1]), "backup.unreadable", id="a list that lists no files"),
    pytest.param(lambda parts: parts.update({MANIFEST: b"{"}), "backup.unreadable", id="a list that is no JSON"),
    pytest.param(lambda parts: parts.pop(MANIFEST), "backup.unreadable", id="no list"),
    pytest.param(lambda parts: parts.update({MANIFEST: b" " * 70_000}), "backup.unreadable", id="an endless list"),
    pytest.param(_climbing, "backup.unreadable", id="a name that climbs out of the folder"),
]


@pytest.mark.refuses("A11 7.2", "17025 8.4", "P11 11.10(b)")
@pytest.mark.parametrize(("change", "code"), ALTERED)
def test_an_altered_backup_is_named_and_leaves_nothing(
    bench: Bench, tmp_path: Path, change: Callable[[dict[str, bytes]], None], code: str
) -> None:
    make_backup(bench.site, tmp_path / "b.zip")
    parts = members(tmp_path / "b.zip")
    change(parts)
    altered = write(tmp_path / "altered.zip", parts)
    assert stopped(lambda: opened(altered)) == [code]
    assert stopped(lambda: restore(altered, tmp_path / "again")) == [code]
    assert not (tmp_path / "again").exists()
    assert not (tmp_path / "again.part").exists()
    assert not (tmp_path / "escaped").exists()


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"no archive at all"], ids=["empty", "cut", "other"])
def test_a_file_that_is_no_backup_is_said_to_be_none(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "b.zip").write_bytes(data)
    assert stopped(lambda: opened(tmp_path / "b.zip")) == ["backup.damaged"]
    assert stopped(lambda: opened(tmp_path / "nothing.zip")) == ["file.missing"]


@pytest.mark.refuses("P11 11.10(g)")
def test_only_administrators_and_services_make_and_test_backups(bench: Bench) -> None:
    for act in (NoteBackup, NoteBackupTest):
        require_able(bench.site, act, bench.key("emil"))
        for name in ("ana", "ben", "cleo"):
            key = bench.key(name)
            assert stopped(partial(require_able, bench.site, act, key)) == ["act.role"]


def test_problems_and_findings_are_told_apart(bench: Bench, tmp_path: Path) -> None:
    """A wrong name is the caller's to mend; an altered backup is a finding about the backup."""
    make_backup(bench.site, tmp_path / "b.zip")
    parts = members(tmp_path / "b.zip")
    _store_changed(parts)
    with pytest.raises(Stopped) as found:
        opened(write(tmp_path / "altered.zip", parts))
    assert isinstance(found.value.notices[0], Finding)
    with pytest.raises(Stopped) as found:
        make_backup(bench.site, tmp_path / "b.zip")
    assert isinstance(found.value.notices[0], Problem)
