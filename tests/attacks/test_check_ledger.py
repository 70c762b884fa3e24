"""The one-file check of a copied ledger: what the program's own check finds in the truth, this one finds without it."""

from __future__ import annotations

import ast
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.attacks.test_changed_by_sql import TRUTH, other
from tools import check_ledger

from benchseal.desk import checkpoints
from benchseal.ledger.checkpoints import write_checkpoint
from benchseal.store import tables
from benchseal.upkeep.backup import make_backup

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.demo.play import Played

TOOL = Path(__file__).parents[2] / "tools" / "check_ledger.py"


def checked(copy: Path, *against: Path, key: str = "") -> list[str]:
    with closing(sqlite3.connect(copy.as_uri() + "?mode=ro", uri=True)) as opened:
        opened.text_factory = lambda raw: raw.decode("utf-8", "backslashreplace")
        return check_ledger.check(opened, [str(one) for one in against], key)[0].found


def changed(played: Played, folder: Path, *statements: str) -> Path:
    """A copy of the demo's store after SQL, triggers dropped."""
    copy = folder / "copy.sqlite"
    shutil.copy(played.site.store.path, copy)
    with closing(sqlite3.connect(copy)) as store:
        for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            store.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert store.execute(statement).rowcount != 0, "the attack changed nothing"
        store.commit()
    return copy


def test_it_knows_nothing_of_the_program() -> None:
    """The standard library and cryptography only: it can be copied alone to another machine."""
    names = set()
    for node in ast.walk(ast.parse(TOOL.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {one.name.partition(".")[0] for one in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(str(node.module).partition(".")[0])
    assert names - set(sys.stdlib_module_names) == {"cryptography"}


@pytest.mark.clause("P11 11.10(b)", "A11 17")
def test_the_demo_holds_by_itself_as_a_backup_and_from_the_command_line(stage: Stage, tmp_path: Path) -> None:
    make_backup(stage.site, tmp_path / "b.zip")
    for copy in (stage.site.folder, stage.site.store.path, tmp_path / "b.zip"):
        done = subprocess.run(  # noqa: S603  the tool of this project
            [sys.executable, "-I", str(TOOL), str(copy)], capture_output=True, text=True, check=False
        )
        assert (done.returncode, done.stderr) == (check_ledger.HOLDS, "")
        assert done.stdout.splitlines()[-1] == "Everything that was looked at holds."


def test_what_is_no_copy_is_said_to_be_none(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("no database")
    for name in (tmp_path / "note", tmp_path / "missing", tmp_path):
        done = subprocess.run(  # noqa: S603  the tool of this project
            [sys.executable, "-I", str(TOOL), str(name)], capture_output=True, text=True, check=False
        )
        assert done.returncode == check_ledger.UNUSABLE
        assert "cannot be checked" in done.stderr
        assert "Traceback" not in done.stderr


# Kept subtrees follow from the entries and serve proofs; the tool makes its own.
@pytest.mark.refuses("P11 11.10(a)", "A11 17")
@pytest.mark.parametrize(("table", "column"), [pair for pair in TRUTH if pair[0] != "tree_node"])
def test_every_changed_column_of_the_truth_is_found(played: Played, tmp_path: Path, table: str, column: str) -> None:
    found = tables.truth.tables[table]
    key = ", ".join(one.name for one in found.primary_key.columns)
    where = f"rowid = (SELECT rowid FROM {table} ORDER BY {key} LIMIT 1 OFFSET 2)"  # noqa: S608  names of our tables
    change = f"UPDATE {table} SET {column} = {other(found, column)} WHERE {where}"  # noqa: S608
    copy = changed(played, tmp_path, change)
    assert checked(copy), f"{table}.{column}"


ATTACKS = [
    pytest.param(("DELETE FROM ledger WHERE seq = 17",), "entry 18", id="an entry taken out"),
    pytest.param(("UPDATE ledger SET seq = seq + 1000000 WHERE seq = 20",), "entry 21", id="an entry moved"),
    pytest.param(
        (
            "UPDATE ledger SET seq = -1 WHERE seq = 30",
            "UPDATE ledger SET seq = 30 WHERE seq = 31",
            "UPDATE ledger SET seq = 31 WHERE seq = -1",
        ),
        "entry 30",
        id="two entries swapped",
    ),
    pytest.param(
        ("INSERT INTO ledger SELECT (SELECT max(seq) + 1 FROM ledger), body, leaf, head FROM ledger WHERE seq = 9",),
        "entry ",
        id="an entry copied to the end",
    ),
    pytest.param(("DELETE FROM objects WHERE sha256 IN (SELECT source_sha256 FROM run)",), "object", id="objects"),
]


@pytest.mark.refuses("P11 11.10(a)", "A11 17", "PI041 complete")
@pytest.mark.parametrize(("statements", "named"), ATTACKS)
def test_rows_taken_out_moved_or_added_are_named(
    played: Played, tmp_path: Path, statements: tuple[str, ...], named: str
) -> None:
    found = checked(changed(played, tmp_path, *statements))
    assert any(named in line for line in found), found


@pytest.mark.refuses("P11 11.10(a)", "PI041 complete")
def test_a_cut_off_end_is_found_with_a_checkpoint_from_outside_and_not_without(
    stage: Stage, played: Played, tmp_path: Path
) -> None:
    (tmp_path / "head.json").write_bytes(write_checkpoint(checkpoints.make(stage.site)))
    cut = changed(
        played,
        tmp_path,
        "DELETE FROM ledger WHERE seq > (SELECT max(seq) - 5 FROM ledger)",
        "DELETE FROM checkpoint WHERE size > (SELECT max(seq) FROM ledger)",
    )
    assert checked(cut) == []
    assert any("missing at the end" in line for line in checked(cut, tmp_path / "head.json"))


def test_another_key_than_the_one_handed_out_is_another_history(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        site = view.row("site", ledger=stage.site.ledger)
    assert site is not None
    assert checked(stage.site.store.path, key=site["tree_key"]) == []
    assert checked(stage.site.store.path, key="ab" * 32) != []


@pytest.mark.refuses("P11 11.70")
def test_a_signature_moved_to_another_entry_is_found(played: Played, tmp_path: Path) -> None:
    """A whole history rewritten with its hashes: the signature stands where it does not belong."""
    import json  # noqa: PLC0415

    copy = changed(played, tmp_path, "DELETE FROM checkpoint")
    with closing(sqlite3.connect(copy)) as store:
        rows = [(seq, json.loads(body)) for seq, body in store.execute("SELECT seq, body FROM ledger ORDER BY seq")]
        carrying = [entry for _, entry in rows if "signature" in entry["facts"]]
        carrying[0]["facts"]["signature"], carrying[-1]["facts"]["signature"] = (
            carrying[-1]["facts"]["signature"],
            carrying[0]["facts"]["signature"],
        )
        head = check_ledger.sha256(b"benchseal-ledger/1\n", rows[0][1]["facts"]["ledger"].encode())
        for seq, entry in rows:
            body = check_ledger.canonical(entry)
            leaf = check_ledger.sha256(b"\x00", body)
            head = check_ledger.sha256(b"\x02", head, leaf)
            store.execute("UPDATE ledger SET body = ?, leaf = ?, head = ? WHERE seq = ?", (body, leaf, head, seq))
        store.commit()
    found = checked(copy)
    assert len(found) == 2
    assert all("of another" in line for line in found)
