"""A store of an earlier version is brought to this one: the same truth, whole, on record, and never half."""

from __future__ import annotations

import os
import sqlite3
import zlib
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, cast

import pytest
from tests.conftest import SECRETS, TestClock, cheap_hashes

from benchseal.cli import main
from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.admission import Password
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.site import open_site, settings_of, settings_text
from benchseal.ledger.hashes import next_head, record_hash
from benchseal.problems import EXIT_VERSION, Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.entries import Entry, entry_body, read_entry
from benchseal.store import tables, upgrading
from benchseal.store.sqlite import SqliteStore
from benchseal.upkeep import upgrade as upgrading_site
from benchseal.upkeep.upgrade import PART, Upgraded, old_site, upgrade

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Stage

    from benchseal.records.canonical import Json

STORES = Path(__file__).parents[2] / "fixtures" / "stores"
VERSIONS = sorted(int(path.stem.rpartition("-")[2]) for path in STORES.glob("version-*.sql"))
EMIL = Password("p-emil.holt", SECRETS["p-emil.holt"])
TRUTH = ("ledger", "objects", "checkpoint")


def stored(folder: Path, version: int) -> Path:
    """A site whose store the program of that version wrote."""
    folder.mkdir()
    for name in ("private", "certificates", "outbox"):
        (folder / name).mkdir()
    path = folder / "store.sqlite"
    with closing(sqlite3.connect(path)) as made:
        made.executescript((STORES / f"version-{version}.sql").read_text(encoding="utf-8"))
        body = made.execute("SELECT body FROM ledger WHERE seq = 1").fetchone()[0]
    ledger = read_entry(body).facts["ledger"]
    (folder / "benchseal.toml").write_text(settings_text(str(ledger)), encoding="utf-8")
    return folder


def brought(folder: Path, *people: Password) -> Upgraded:
    old = old_site(folder, *settings_of(folder))
    assert old is not None
    clock = TestClock()
    clock.now = clock.now.replace(year=2027)
    return upgrade(old, clock, cheap_hashes(), lambda: people or (EMIL,))


def truth(path: Path) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(path)) as kept:
        return {name: kept.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall() for name in TRUTH}  # noqa: S608


def refused(doing: Callable[[], object]) -> tuple[str, str]:
    with pytest.raises(Stopped) as found:
        doing()
    assert all(notice.remedy for notice in found.value.notices)
    return found.value.notices[0].code, found.value.notices[0].what


def beside(folder: Path) -> set[str]:
    """Files of the store in the folder, locks left out."""
    return {path.name for path in folder.glob("store*") if path.suffix not in {".queue", ".turns"}}


# ------------------------------------------------------------------ as it should be


def test_every_earlier_version_has_its_store() -> None:
    """One of an unreleased step between may be missing; the first ones and the last before shares are here."""
    assert {1, 2, 3} <= set(VERSIONS)
    assert max(VERSIONS) < tables.STORE_VERSION


@pytest.mark.clause("P11 11.10(c)")
@pytest.mark.parametrize("version", VERSIONS)
def test_an_old_store_becomes_one_of_now(tmp_path: Path, version: int) -> None:
    folder = stored(tmp_path / "site", version)
    path = folder / "store.sqlite"
    before, old_bytes = truth(path), path.read_bytes()
    code, what = refused(lambda: open_site(folder))
    assert (code, f"version {version}" in what) == ("store.version", True)
    done = brought(folder)
    assert (done.before, done.now) == (version, tables.STORE_VERSION)
    assert (folder / done.kept_as).read_bytes() == old_bytes
    assert beside(folder) == {"store.sqlite", done.kept_as}
    after = truth(path)
    assert after["ledger"][: len(before["ledger"])] == before["ledger"]
    assert len(after["ledger"]) == done.entries == len(before["ledger"]) + 1
    assert after["objects"] == before["objects"]
    assert after["checkpoint"] == before["checkpoint"]
    last = read_entry(cast("bytes", after["ledger"][-1][1]))
    assert (last.kind, last.actor) == ("site.upgraded", "p-emil.holt")
    assert (last.facts["before"], last.facts["kept_as"]) == (version, done.kept_as)
    site = open_site(folder, hashes=cheap_hashes)
    assert verify_site(site).findings == ()
    perform(site, UnlockPerson("p-ana.keel", "she asked"), EMIL)  # passwords came along; work goes on
    site.store.close()
    assert old_site(folder, *settings_of(folder)) is None


def test_runs_results_and_certificates_come_along(stage: Stage, tmp_path: Path) -> None:
    """The played demo put into the tables of version 3: truth and private rows as they are, derived rows anew."""
    kept = {name: rows_of(stage.site.store.path, name) for name in tables.DERIVED}
    stage.site.store.close()
    as_version_3(stage.site.store.path, tmp_path)
    old = old_site(stage.site.folder, *settings_of(stage.site.folder))
    assert old is not None
    done = upgrade(old, stage.site.clock, cheap_hashes(), lambda: (stage.key("p-sil.penhallow"),))
    site = open_site(stage.site.folder, hashes=cheap_hashes)
    assert verify_site(site).findings == ()
    for name, rows in kept.items():
        if name not in {"site", "counter"}:
            assert rows_of(site.store.path, name) == rows, name
    assert done.before == 3
    site.store.close()


def rows_of(path: Path, table: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as kept:
        return kept.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()  # noqa: S608


def as_version_3(path: Path, tmp_path: Path) -> None:
    made = tmp_path / "v3.sqlite"
    with closing(sqlite3.connect(made)) as old:
        old.executescript((STORES / "version-3.sql").read_text(encoding="utf-8"))
        for name in [row[0] for row in old.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
            old.execute(f"DROP TRIGGER {name}")
        old.execute("ATTACH ? AS now", (str(path),))
        for name in (*TRUTH, "tree_node", "password", "run_secret"):
            old.execute(f"DELETE FROM {name}")  # noqa: S608
            old.execute(f"INSERT INTO {name} SELECT * FROM now.{name}")  # noqa: S608
        old.commit()
    os.replace(made, path)  # noqa: PTH105


# ------------------------------------------------------------------ what is refused


def test_a_store_of_a_newer_program_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = stored(tmp_path / "site", 3)
    with closing(sqlite3.connect(folder / "store.sqlite")) as made:
        made.execute(f"PRAGMA user_version = {tables.STORE_VERSION + 1}")
    before = (folder / "store.sqlite").read_bytes()
    code, what = refused(lambda: old_site(folder, *settings_of(folder)))
    assert (code, f"version {tables.STORE_VERSION + 1}" in what) == ("store.version", True)
    assert main(["rebuild", "--site", str(folder)]) == EXIT_VERSION
    assert "newer one" in capsys.readouterr().err
    assert (folder / "store.sqlite").read_bytes() == before


@pytest.mark.refuses("P11 11.10(d)")
@pytest.mark.parametrize(
    ("who", "code"),
    [
        (Password("p-emil.holt", "not his password at all"), "sign-in.refused"),
        (Password("p-ana.keel", SECRETS["p-ana.keel"]), "act.role"),
    ],
)
def test_only_an_administrator_does_it(tmp_path: Path, who: Password, code: str) -> None:
    folder = stored(tmp_path / "site", 3)
    before = truth(folder / "store.sqlite")
    assert refused(lambda: brought(folder, who))[0] == code
    assert beside(folder) == {"store.sqlite"}
    assert truth(folder / "store.sqlite") == before
    assert upgrading.version_of(folder / "store.sqlite") == 3


@pytest.mark.refuses("P11 11.300(d)")
def test_wrong_passwords_count_in_the_old_store(tmp_path: Path) -> None:
    """Otherwise each try would be the first."""
    folder = stored(tmp_path / "site", 3)
    wrong = Password("p-emil.holt", "not his password at all")
    codes = [refused(lambda: brought(folder, wrong))[0] for _ in range(6)]
    assert codes[:5] == ["sign-in.refused"] * 5
    assert codes[5] != "sign-in.refused"


@pytest.mark.refuses("P11 11.10(a)")
@pytest.mark.parametrize(
    ("harm", "code"),
    [
        ("UPDATE ledger SET body = replace(body, 'Heron', 'Hiron') WHERE seq = 1", "integrity.chain"),
        ("UPDATE ledger SET leaf = zeroblob(32) WHERE seq = 2", "integrity.chain"),
        ("DELETE FROM ledger WHERE seq = 3", "integrity.chain"),
        ("UPDATE tree_node SET hash = zeroblob(32) WHERE level = 1 AND place = 0", "integrity.tree-node"),
        ("UPDATE checkpoint SET body = replace(body, '0', '1')", "integrity.checkpoint-signature"),
        ("UPDATE password SET hash = 'x' WHERE person = 'p-ana.keel'", "integrity.password-hash"),
        ("DELETE FROM objects WHERE sha256 = (SELECT min(sha256) FROM objects)", "integrity.object-missing"),
        ("UPDATE objects SET body = zeroblob(9) WHERE sha256 = (SELECT max(sha256) FROM objects)", "integrity.object"),
    ],
)
def test_a_damaged_store_is_not_brought_along(tmp_path: Path, harm: str, code: str) -> None:
    folder = stored(tmp_path / "site", 3)
    with closing(sqlite3.connect(folder / "store.sqlite")) as made:
        for name in [row[0] for row in made.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
            made.execute(f"DROP TRIGGER {name}")
        body = "UPDATE ledger SET body = CAST(replace(CAST(body AS TEXT), 'Heron', 'Hiron') AS BLOB) WHERE seq = 1"
        made.execute(body if "body = replace(body, 'Heron" in harm else harm)
        made.commit()
    before = (folder / "store.sqlite").read_bytes()
    found = refused(lambda: brought(folder))[0]
    assert found == code
    assert beside(folder) == {"store.sqlite"}
    assert (folder / "store.sqlite").read_bytes() == before


def test_entries_nobody_reads_any_more_are_named(tmp_path: Path) -> None:
    """The first stores held a lot by an entry of another kind."""
    folder = stored(tmp_path / "site", 2)
    append(folder, "hold.opened", "hold/S-00002/Cd", {}, {})
    code, what = refused(lambda: brought(folder))
    assert (code, "hold.opened" in what) == ("store.not-upgraded", True)
    assert beside(folder) == {"store.sqlite"}


def test_runs_that_do_not_say_what_they_rested_on_are_named(tmp_path: Path) -> None:
    """As the programs of versions 1 and 2 wrote them: nothing here could show or correct such a run."""
    folder = stored(tmp_path / "site", 2)
    work: Json = {"usable": True, "results": [], "checks": [], "calibration": {}}
    bound: Json = {
        "document": {"readings": {"signal": []}},
        "standard_lots": [],
        "method": {"id": "m"},
        "method_ref": {"digest": "0" * 64},
        "instrument": "flame-1",
        "measured_at": "2026-03-02T08:00:00Z",
    }
    facts: dict[str, Json] = {"count": 1, "name": "a.txt", "element": "Pb", "method": "m", "instrument": "flame-1"}
    facts |= {"measured_at": "2026-03-02T08:00:00Z", "operator": "", "portions": []}
    objects = {"work": canonical_bytes(work), "bound": canonical_bytes(bound), "raw": b"x", "document": b"y"}
    append(folder, "run.ingested", "run/R-00001", facts, objects)
    code, what = refused(lambda: brought(folder))
    assert (code, "rested on" in what) == ("store.not-upgraded", True)
    assert beside(folder) == {"store.sqlite"}


def append(folder: Path, kind: str, subject: str, facts: dict[str, Json], objects: dict[str, bytes]) -> int:
    """Write an entry of ana's to an old store, with its objects, as that program did; its number."""
    with closing(sqlite3.connect(folder / "store.sqlite")) as made:
        seq, head = made.execute("SELECT seq, head FROM ledger ORDER BY seq DESC LIMIT 1").fetchone()
        names = {label: digest(data) for label, data in objects.items()}
        for label, data in objects.items():
            made.execute("INSERT INTO objects VALUES (?, ?, ?)", (names[label], len(data), zlib.compress(data)))
        at = "2026-11-26T15:00:29.117Z"
        body = entry_body(Entry(seq + 1, kind, at, "p-ana.keel", subject, facts=facts, digests=names))
        leaf = record_hash(body)
        made.execute("INSERT INTO ledger VALUES (?, ?, ?, ?)", (seq + 1, body, leaf, next_head(head, leaf)))
        made.commit()
    return int(seq) + 1


# ------------------------------------------------------------------ killed, and at once


@pytest.mark.clause("P11 11.10(c)")
@pytest.mark.parametrize(
    ("place", "after"),
    [
        ("fill_from", False),
        ("fill_from", True),
        ("perform", True),
        ("verify_site", True),
        ("_sync", True),
        ("_keep", False),
        ("_keep", True),
        ("os.replace", False),
        ("os.replace", True),
    ],
)
def test_killed_anywhere_it_is_the_old_or_the_new(tmp_path: Path, place: str, *, after: bool) -> None:
    """The process is gone at that call: nothing is put in order, as with a power cut. Then it is done again."""
    folder = stored(tmp_path / "site", 3)
    path = folder / "store.sqlite"
    before = path.read_bytes()
    child = os.fork()
    if child == 0:
        killed(folder, place, after=after)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    version = upgrading.version_of(path)
    if version == 3:
        assert path.read_bytes() == before
        done = brought(folder)
        assert (folder / done.kept_as).read_bytes() == before
        assert done.kept_as == "store-version-3-1.sqlite"
    assert upgrading.version_of(path) == tables.STORE_VERSION
    assert (version == 3) == ((place, after) != ("os.replace", True))
    assert (folder / "store-version-3-1.sqlite").read_bytes() == before
    site = open_site(folder, hashes=cheap_hashes)
    assert verify_site(site).findings == ()
    with site.store.reading() as view:
        kinds = [read_entry(body).kind for _, body, _, _ in view.entries()]
    assert kinds.count("site.upgraded") == 1
    site.store.close()
    assert not (folder / PART).exists()


def killed(folder: Path, place: str, *, after: bool) -> None:
    """Upgrade in this child process, which ends without a word before or after one call."""
    holder, name = (os, "replace") if place == "os.replace" else (upgrading_site, place)
    real = getattr(holder, name)

    def end(*given: object, **named: object) -> object:
        if after:
            real(*given, **named)
        os._exit(9)

    setattr(holder, name, end)
    try:
        brought(folder)
    finally:
        os._exit(1)


def test_nobody_writes_meanwhile_and_the_second_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = stored(tmp_path / "site", 3)
    monkeypatch.setattr("benchseal.store.sqlite.QUEUE_SECONDS", 0)
    old = SqliteStore(folder / "store.sqlite", settings_of(folder)[0])
    seen: list[str] = []

    real = upgrading.fill_from

    def filling(path: Path, new: SqliteStore) -> int:
        with pytest.raises(Stopped) as found, old.queued():
            pass
        seen.append(found.value.notices[0].code)
        return real(path, new)

    monkeypatch.setattr(upgrading_site, "fill_from", filling)

    mine = old_site(folder, *settings_of(folder))
    late = old_site(folder, *settings_of(folder))
    assert mine is not None
    assert late is not None
    upgrade(mine, TestClock(), cheap_hashes(), lambda: (EMIL,))
    assert seen == ["store.busy"]
    code, what = refused(lambda: upgrade(late, TestClock(), cheap_hashes(), lambda: (EMIL,)))
    assert (code, "meanwhile" in what) == ("store.busy", True)
    old.close()


def test_what_a_killed_writer_left_is_undone_first(tmp_path: Path) -> None:
    """A hot journal beside the old store: its half transaction is no truth."""
    folder = stored(tmp_path / "site", 3)
    path = folder / "store.sqlite"
    before = truth(path)
    child = os.fork()
    if child == 0:
        half = sqlite3.connect(path)
        half.execute("PRAGMA cache_size = 1")
        half.execute("BEGIN IMMEDIATE")
        for number in range(2000):
            half.execute("INSERT INTO sign_in_failure (person, at) VALUES (?, ?)", (f"p-{number}", "x" * 500))
        os._exit(9)
    os.waitpid(child, 0)
    assert (folder / "store.sqlite-journal").exists()
    brought(folder)
    assert truth(path)["ledger"][: len(before["ledger"])] == before["ledger"]
    with closing(sqlite3.connect(path)) as kept:
        assert kept.execute("SELECT count(*) FROM sign_in_failure").fetchone() == (0,)


# ------------------------------------------------------------------ through the command


def test_the_command_asks_for_the_password_and_says_what_was_done(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = stored(tmp_path / "site", 3)
    monkeypatch.setattr("benchseal.cli.site.system_clock", TestClock())
    assert main(["status", "--site", str(folder)]) == EXIT_VERSION
    assert "benchseal rebuild" in capsys.readouterr().err
    reading, writing = os.pipe()
    os.write(writing, f"{EMIL.person}\n{EMIL.password}\n".encode())
    os.close(writing)
    assert main(["rebuild", "--site", str(folder), "--secret-fd", str(reading)]) == 0
    out = capsys.readouterr().out
    assert f"The store has version {tables.STORE_VERSION} now, it had 3" in out
    assert "store-version-3-1.sqlite" in out
