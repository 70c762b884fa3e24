"""The store: append-only truth, one writer, whole transactions, derived rows that follow from the ledger."""

from __future__ import annotations

import sqlite3
import zlib
from typing import TYPE_CHECKING

import pytest

from benchseal.ledger.hashes import record_hash
from benchseal.ledger.proofs import check_inclusion
from benchseal.ledger.tree import prove_inclusion, tree_root
from benchseal.ledger.walk import walk
from benchseal.problems import Stopped, exit_code
from benchseal.records.entries import Entry
from benchseal.store.disks import file_system_kind
from benchseal.store.replay import differences, replayed, schema_differences
from benchseal.store.sqlite import SqliteStore
from benchseal.store.tables import APPEND_ONLY, DERIVED

if TYPE_CHECKING:
    from pathlib import Path

LEDGER = "bs-test"


def customer(seq: int, record: str) -> Entry:
    return Entry(
        seq,
        "customer.added",
        "2026-01-01T00:00:00.000Z",
        "p-ana",
        f"customer/c{seq}",
        facts={"name": f"Name {seq}"},
        digests={"record": record},
    )


@pytest.fixture
def store(tmp_path: Path) -> SqliteStore:
    made = SqliteStore.create(tmp_path / "store.sqlite", LEDGER)
    with made.writing() as tx:
        for seq in range(1, 8):
            tx.append(customer(seq, tx.keep(f"record {seq}".encode())))
    return made


def raw(store: SqliteStore) -> sqlite3.Connection:
    connection = sqlite3.connect(store.path)
    connection.isolation_level = None
    return connection


@pytest.mark.clause("A11 7.1")
def test_what_was_written_is_there_and_whole(store: SqliteStore) -> None:
    with store.reading() as view:
        assert view.size() == 7
        assert walk(LEDGER, view.entries()).findings == ()
        assert [row["customer"] for row in view.rows("customer")] == [f"c{seq}" for seq in range(1, 8)]
        assert view.row("customer", customer="c3") == {
            "customer": "c3",
            "name": "Name 3",
            "record": view.rows("customer")[2]["record"],
            "seq": 3,
        }


def test_kept_subtrees_prove_every_entry(store: SqliteStore) -> None:
    with store.reading() as view:
        root = tree_root(7, view)
        for seq, body, _, _ in view.entries():
            proof = prove_inclusion(seq - 1, 7, view)
            assert check_inclusion(record_hash(body), seq - 1, 7, proof, root)


@pytest.mark.clause("A11d 12.3")
@pytest.mark.refuses("P11 11.10(e)", "A11d 12.3", "P211.180(a)")
@pytest.mark.parametrize("table", APPEND_ONLY)
@pytest.mark.parametrize("statement", ["DELETE FROM {}", "UPDATE {} SET rowid = rowid + 100"])
def test_the_database_refuses_to_change_the_truth(store: SqliteStore, table: str, statement: str) -> None:
    with store.writing() as tx:
        tx.keep_checkpoint(7, "{}")
    connection = raw(store)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(statement.format(table))
    connection.close()


@pytest.mark.refuses("P11 11.10(e)")
def test_the_database_refuses_a_gap_a_replacement_and_a_second_object(store: SqliteStore) -> None:
    connection = raw(store)
    connection.execute("PRAGMA recursive_triggers = ON")
    for statement, words in [
        ("INSERT INTO ledger SELECT 9, body, leaf, head FROM ledger WHERE seq = 7", "gap"),
        ("INSERT OR REPLACE INTO ledger SELECT seq, body, leaf, head FROM ledger WHERE seq = 3", "gap"),
        ("INSERT OR REPLACE INTO objects SELECT sha256, size, body FROM objects LIMIT 1", "already there"),
    ]:
        with pytest.raises(sqlite3.IntegrityError, match=words):
            connection.execute(statement)
    connection.close()


@pytest.mark.refuses("P11 11.10(e)", "PI041 enduring")
def test_a_stopped_act_leaves_nothing(store: SqliteStore) -> None:
    with pytest.raises(RuntimeError), store.writing() as tx:
        kept = tx.keep(b"half an act")
        tx.append(customer(8, kept))
        raise RuntimeError
    with store.reading() as view:
        assert view.size() == 7
        assert view.row("customer", customer="c8") is None
        with pytest.raises(KeyError):
            view.bytes_of(kept)


def test_an_entry_out_of_sequence_is_our_own_fault(store: SqliteStore) -> None:
    with pytest.raises(AssertionError), store.writing() as tx:
        tx.append(customer(9, tx.keep(b"x")))


def test_a_kind_nobody_can_replay_is_not_written(store: SqliteStore) -> None:
    with pytest.raises(KeyError), store.writing() as tx:
        tx.append(Entry(8, "customer.painted", "2026-01-01T00:00:00.000Z", "p-ana", "customer/c1"))
    with store.reading() as view:
        assert view.size() == 7


def test_replay_gives_the_rows_at_hand(store: SqliteStore) -> None:
    with store.reading() as view:
        again = replayed(view, LEDGER)
        with again.reading() as model:
            assert differences(view, model) == ()
        again.close()


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        pytest.param("UPDATE customer SET name = 'Other' WHERE customer = 'c2'", "'Name 2'", id="value changed"),
        pytest.param("DELETE FROM customer WHERE customer = 'c2'", "is missing", id="row removed"),
        pytest.param(
            "INSERT INTO customer SELECT 'c9', name, record, seq FROM customer WHERE customer = 'c2'",
            "does not follow",
            id="row added",
        ),
    ],
)
def test_a_derived_row_changed_by_sql_is_named(store: SqliteStore, statement: str, words: str) -> None:
    connection = raw(store)
    connection.execute(statement)
    connection.close()
    with store.reading() as view:
        again = replayed(view, LEDGER)
        with again.reading() as model:
            found = differences(view, model)
        again.close()
    assert len(found) == 1
    assert found[0].code == "integrity.derived-row"
    assert words in found[0].what
    assert "customer c" in found[0].where


@pytest.mark.refuses("A11d 12.3")
def test_a_dropped_trigger_and_a_strange_table_show(store: SqliteStore) -> None:
    connection = raw(store)
    connection.execute("DROP TRIGGER ledger_no_update")
    connection.execute("CREATE TABLE aside (x)")
    connection.close()
    with store.reading() as view:
        assert {finding.where for finding in schema_differences(view)} == {"trigger ledger_no_update", "table aside"}


@pytest.mark.clause("A11 7.1")
def test_an_object_is_kept_once_and_read_back(store: SqliteStore) -> None:
    with store.writing() as tx:
        assert tx.keep(b"same") == tx.keep(b"same")
        assert tx.bytes_of(tx.keep(b"same")) == b"same"


def test_damaged_pages_are_one_clear_line(tmp_path: Path) -> None:
    (tmp_path / "store.sqlite").write_bytes(b"this is no database, but it is long enough to be looked at" * 100)
    with pytest.raises(Stopped) as stop:
        SqliteStore.open(tmp_path / "store.sqlite", LEDGER)
    assert stop.value.notices[0].code == "integrity.store-damaged"


def test_no_store_another_version_and_a_store_already_there(store: SqliteStore, tmp_path: Path) -> None:
    with pytest.raises(Stopped) as stop:
        SqliteStore.open(tmp_path / "none.sqlite", LEDGER)
    assert stop.value.notices[0].code == "store.missing"
    with pytest.raises(Stopped) as stop:
        SqliteStore.create(store.path, LEDGER)
    assert stop.value.notices[0].code == "store.exists"
    connection = raw(store)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(Stopped) as stop:
        SqliteStore.open(store.path, LEDGER)
    assert stop.value.notices[0].code == "store.version"


@pytest.mark.refuses("A11 16", "PI041 enduring")
def test_a_full_disk_is_one_clear_line_and_changes_nothing(store: SqliteStore) -> None:
    """SQLite's own page limit stands for the disk: the same error the disk gives."""
    with pytest.raises(Stopped) as stop, store.writing() as tx:
        tx._connection.exec_driver_sql("PRAGMA max_page_count = 1")  # noqa: SLF001  the fault injected
        for number in range(200):
            tx.keep(bytes(number % 256 for _ in range(1)) + repr(number).encode() * 5000)
    assert stop.value.notices[0].code == "store.disk-full"
    with store.reading() as view:
        assert view.size() == 7
        assert len(view.object_names()) == 7


def test_the_queue_says_busy_rather_than_waiting_for_ever(store: SqliteStore) -> None:
    store._queue.timeout = 0.05  # noqa: SLF001  the default is a minute
    other = SqliteStore.open(store.path, LEDGER)
    with other.writing(), pytest.raises(Stopped) as stop, store.writing():
        pass
    assert stop.value.notices[0].code == "store.busy"


def test_mounts_are_read_by_the_longest_match() -> None:
    mounts = [
        "/dev/sda / ext4 rw 0 0",
        "host:/x /mnt/lab nfs4 rw 0 0",
        "/dev/sdb /mnt/lab/local ext4 rw 0 0",
        "//h/s /with\\040blank cifs rw 0 0",
    ]
    assert file_system_kind("/srv/site", mounts) == ""
    assert file_system_kind("/mnt/lab/site", mounts) == "nfs4"
    assert file_system_kind("/mnt/laboratory", mounts) == ""
    assert file_system_kind("/mnt/lab/local/site", mounts) == ""
    assert file_system_kind("/with blank", mounts) == "cifs"


def test_every_derived_table_says_which_entry_made_the_row() -> None:
    assert all("seq" in table.c for table in DERIVED.values())


def altered(store: SqliteStore, name: str, body: bytes) -> None:
    connection = raw(store)
    (trigger,) = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'objects_no_update'").fetchone()
    connection.execute("DROP TRIGGER objects_no_update")
    connection.execute("UPDATE objects SET body = ? WHERE sha256 = ?", (zlib.compress(body), name))
    connection.execute(trigger)
    connection.close()


def test_an_object_that_was_altered_is_given_to_nobody(store: SqliteStore) -> None:
    """Its name is its SHA-256 (FIPS 180-4), compared at each reading; verify alone takes it as it is, and names it."""
    with store.writing() as tx:
        name = tx.keep(b"1,measured,99.2")
    altered(store, name, b"1,measured,19.2")
    for view_of in (store.reading, store.writing):
        with view_of() as view, pytest.raises(Stopped) as found:
            view.bytes_of(name)
        assert (found.value.notices[0].code, exit_code(found.value.notices)) == ("integrity.object", 6)
    with store.as_kept() as view:
        assert view.bytes_of(name) == b"1,measured,19.2"
        assert [*view.wrong_objects()] == [name]


def test_an_object_that_is_gone_is_said(store: SqliteStore) -> None:
    with store.reading() as view, pytest.raises(Stopped) as found:
        view.bytes_of("0" * 64)
    assert [str(one).partition(":")[0] for one in found.value.notices] == ["integrity.object"]
