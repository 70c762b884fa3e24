"""A check shared with a second process finds exactly what one process finds, and is shared wherever it can be."""

# ruff: noqa: S608  numbers of our own in our own statements

from __future__ import annotations

import sqlite3
import sys
import zlib
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest
from tests.store.test_sqlite import LEDGER, customer

from benchseal.ledger.walk import Part, Walk, joined, walk
from benchseal.store import in_two
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from pathlib import Path

ENTRIES = 203
MIDDLE = int(ENTRIES * 0.53)
SIZES = (0, 1, 64, MIDDLE, MIDDLE + 1, 190, ENTRIES, ENTRIES + 7)
OBJECTS = 40


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of some entries and objects."""
    path = tmp_path_factory.mktemp("two") / "a store #1" / "store.sqlite"  # a name an address has to quote
    path.parent.mkdir()
    store = SqliteStore.create(path, LEDGER)
    with store.writing() as tx:
        names = [tx.keep(f"record {number} ".encode() * (number + 1)) for number in range(OBJECTS)]
        for seq in range(1, ENTRIES + 1):
            tx.append(customer(seq, names[seq % OBJECTS]))
    store.close()
    return path


@pytest.fixture
def path(made: Path, tmp_path: Path) -> Path:
    """A copy to change."""
    folder = tmp_path / made.parent.name
    folder.mkdir()
    copy = folder / made.name
    copy.write_bytes(made.read_bytes())
    return copy


class Seen:
    """What the first process walked."""

    def __init__(self) -> None:
        self.parts: list[Part | None] = []

    def walk(self, *given: Any) -> Walk:  # noqa: ANN401  handed on as they came
        self.parts.append(given[4] if len(given) > 4 else None)
        return walk(*given)


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> Seen:
    """Any ledger is large enough, and there are two processors."""
    spy = Seen()
    monkeypatch.setattr(in_two, "walk", spy.walk)
    monkeypatch.setattr(in_two, "LEAST_ENTRIES", 2)
    monkeypatch.setattr(in_two, "LEAST_BYTES", 1)
    monkeypatch.setattr(in_two, "_processors", lambda: 2)
    return spy


def changed(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as store:
        for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            store.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert store.execute(statement).rowcount > 0, statement
        store.commit()


def both(path: Path) -> tuple[Walk, Walk]:
    """By one process, and as shared."""
    store = SqliteStore.open(path, LEDGER)
    with store.reading() as view:
        alone = walk(LEDGER, view.stored_entries(), SIZES, view)
        shared = in_two.walk_all(path, LEDGER, view, SIZES)
    store.close()
    return alone, shared


FIRST_HALF, ALONE = Part(to_the_end=False), None


@pytest.mark.clause("P11 11.10(a)")
def test_a_sound_ledger_is_walked_in_two_with_the_same_roots(path: Path, seen: Seen) -> None:
    alone, shared = both(path)
    assert shared == alone
    assert shared.findings == ()
    assert set(shared.roots) == {size for size in SIZES if size <= ENTRIES}
    assert seen.parts == [FIRST_HALF]


HEAD = "head = x'" + "17" * 32 + "'"
LATE = MIDDLE + 60
DAMAGE = [
    pytest.param("UPDATE ledger SET body = CAST(body || ' ' AS BLOB) WHERE seq = 9", id="a body in the first half"),
    pytest.param(
        f"UPDATE ledger SET body = CAST(body || ' ' AS BLOB) WHERE seq = {LATE}", id="a body in the second half"
    ),
    pytest.param(f"UPDATE ledger SET {HEAD} WHERE seq = {MIDDLE}", id="the head at the middle"),
    pytest.param(f"UPDATE ledger SET leaf = {HEAD[7:]} WHERE seq = {MIDDLE}", id="the leaf at the middle"),
    pytest.param(f"UPDATE ledger SET {HEAD} WHERE seq = {MIDDLE + 1}", id="the head after the middle"),
    pytest.param(f"DELETE FROM ledger WHERE seq = {MIDDLE}", id="the middle entry taken out"),
    pytest.param(
        f"DELETE FROM ledger WHERE seq BETWEEN {MIDDLE + 1} AND {MIDDLE + 4}", id="entries after it taken out"
    ),
    pytest.param(f"UPDATE ledger SET seq = 90000 WHERE seq = {LATE}", id="a number far beyond"),
    pytest.param("UPDATE ledger SET body = CAST(body || ' ' AS BLOB)", id="every body"),
    pytest.param(f"UPDATE tree_node SET hash = {HEAD[7:]} WHERE level = 2 AND place = 3", id="a subtree"),
    pytest.param(f"UPDATE tree_node SET hash = {HEAD[7:]} WHERE level = 2 AND place = 40", id="a later subtree"),
    pytest.param(f"UPDATE tree_node SET hash = {HEAD[7:]} WHERE level = 6 AND place = 0", id="a peak of the middle"),
    pytest.param("UPDATE tree_node SET hash = x'17' WHERE level = 6 AND place = 0", id="a short peak of the middle"),
    pytest.param("DELETE FROM tree_node WHERE level = 6 AND place = 0", id="a peak of the middle taken out"),
    pytest.param(f"INSERT INTO tree_node VALUES (1, 5000, {HEAD[7:]})", id="a subtree that reaches too far"),
    pytest.param(f"INSERT INTO tree_node VALUES (0, 3, {HEAD[7:]})", id="a leaf among the subtrees"),
]


@pytest.mark.refuses("P11 11.10(a)", "P11 11.10(e)")
@pytest.mark.parametrize("damage", DAMAGE)
def test_damage_is_told_as_one_process_tells_it(path: Path, seen: Seen, damage: str) -> None:
    changed(path, damage)
    alone, shared = both(path)
    assert shared == alone
    assert shared.findings
    assert seen.parts[-1] is ALONE


def test_rows_numbered_below_the_first_entry_are_no_part_of_either(path: Path, seen: Seen) -> None:
    changed(path, "INSERT INTO ledger SELECT -5, body, leaf, head FROM ledger WHERE seq = 1")
    alone, shared = both(path)
    assert shared == alone
    assert seen.parts


@pytest.mark.parametrize("where", [None, "no such program", "/bin/false"])
def test_without_a_second_process_one_does_it(
    path: Path, seen: Seen, monkeypatch: pytest.MonkeyPatch, where: str | None
) -> None:
    if where is None:
        monkeypatch.setattr(in_two, "_processors", lambda: 1)
    else:
        monkeypatch.setattr(sys, "executable", where)
    alone, shared = both(path)
    assert shared == alone
    assert seen.parts == [FIRST_HALF, ALONE] if where else seen.parts[-1] is ALONE


def test_a_small_ledger_is_not_shared(path: Path, seen: Seen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(in_two, "LEAST_ENTRIES", ENTRIES + 1)
    both(path)
    assert seen.parts == [ALONE]


def test_a_writer_that_waits_does_not_hold_up_the_second_process(path: Path, seen: Seen) -> None:
    """It has asked to be the only one: newcomers get no lock, and it cannot commit before the check is done."""
    store = SqliteStore.open(path, LEDGER)
    with store.reading() as view, closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as writer:
        assert view.size() == ENTRIES
        writer.execute("BEGIN IMMEDIATE")
        writer.execute("DELETE FROM session")
        writer.execute("INSERT INTO session VALUES ('x', 'p-ana', '', '')")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            writer.execute("COMMIT")
        with pytest.raises(sqlite3.OperationalError, match="locked"), closing(sqlite3.connect(path, timeout=0)) as late:
            late.execute("SELECT count(*) FROM ledger").fetchone()
        assert in_two.walk_all(path, LEDGER, view, SIZES).findings == ()
        writer.execute("ROLLBACK")
    store.close()
    assert seen.parts == [FIRST_HALF]


OTHER = zlib.compress(b"another").hex()
WRONG = {
    "sound": (),
    "in the first half": (f"UPDATE objects SET body = x'{OTHER}' WHERE rowid = 3",),
    "in the second half": (f"UPDATE objects SET body = x'{OTHER}' WHERE rowid = {OBJECTS}",),
    "in both": ("UPDATE objects SET size = size + 1 WHERE rowid % 7 = 0",),
    "numbered below": ("UPDATE objects SET rowid = -5, size = 1 WHERE rowid = 9",),
}


@pytest.mark.parametrize("name", WRONG)
def test_objects_are_told_as_one_process_tells_them(path: Path, seen: Seen, name: str) -> None:
    assert not seen.parts
    changed(path, *WRONG[name])
    store = SqliteStore.open(path, LEDGER)
    with store.reading() as view:
        _, middle = view.half_of_objects()
        assert 1 < middle < OBJECTS
        alone = view.wrong_objects()
        assert in_two.wrong_objects(path, view) == alone
    store.close()
    assert bool(alone) == bool(WRONG[name])


def test_second_halves_of_any_size_join(made: Path) -> None:
    """Whatever the place where the halves meet, also at an entry that completes many subtrees."""
    store = SqliteStore.open(made, LEDGER)
    with store.reading() as view:
        alone = walk(LEDGER, view.stored_entries(), SIZES, view)
        for middle in range(1, ENTRIES + 1):
            start = view.start_after(middle)
            first = walk(LEDGER, view.stored_entries(1, middle), SIZES, view, Part(to_the_end=False))
            second = walk(LEDGER, view.stored_entries(middle + 1), SIZES, view, Part(start))
            assert joined(first, start, second) == alone
    store.close()
