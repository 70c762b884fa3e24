"""Each way of tampering by its class: found, and located by name.

Inside means ledger and keys of the site; an anchor is anything kept elsewhere: a checkpoint, a certificate, a witness.
What only an anchor shows is shown here without one too: then nothing is claimed.
"""

from __future__ import annotations

import shutil
import sqlite3
import zipfile
import zlib
from contextlib import closing
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.attacks.test_changed_by_sql import tampered, without_triggers
from tests.conftest import cheap_hashes

from benchseal.desk import checkpoints
from benchseal.desk.acting import Acting, Who
from benchseal.desk.acts_documents import AddDocument
from benchseal.desk.acts_people import ChangeRole, DisablePerson, ResetPassword, UnlockPerson
from benchseal.desk.checking import verify_site
from benchseal.desk.founding import trust_of
from benchseal.desk.keys import open_tree_key
from benchseal.desk.rebuilding import rebuild_site
from benchseal.desk.site import open_site
from benchseal.ledger.checkpoints import Checkpoint, make_checkpoint, write_checkpoint
from benchseal.ledger.growing import FINDINGS_LISTED
from benchseal.ledger.hashes import first_head, next_head, record_hash
from benchseal.ledger.tree import complete_nodes
from benchseal.ledger.walk import Row, walk
from benchseal.problems import Stopped
from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning
from benchseal.shipped import starter
from benchseal.upkeep.backup import MANIFEST, make_backup
from benchseal.upkeep.restore import unpacked
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.conftest import Bench, Stage

    from benchseal.demo.play import Played
    from benchseal.desk.site import Site
    from benchseal.problems import Finding


def said(findings: tuple[Finding, ...]) -> set[tuple[str, str]]:
    """Code and place of each finding, that of dropped triggers apart."""
    return {(each.code, each.where) for each in findings if each.code != "integrity.schema"}


def spot(findings: tuple[Finding, ...], code: str) -> str:
    """Place and words of the first finding with ``code``."""
    return next(f"{each.where}: {each.what}" for each in findings if each.code == code)


def rows_of(site: Site) -> list[Row]:
    with site.store.reading() as view:
        return [Row(*row) for row in view.entries()]


# ------------------------------------------------------------------ T1 to T6: rows


@pytest.fixture(scope="module")
def two_hundred(founded: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, list[Row]]]:
    """A ledger of 200 entries as the store keeps them, and its id."""
    folder = tmp_path_factory.mktemp("long") / "site"
    shutil.copytree(founded, folder)
    site = open_site(folder, hashes=cheap_hashes)
    who = Who("p-emil.holt", "Emil Holt", frozenset({Role.ADMINISTRATOR}), signs=False)
    with site.store.writing() as tx:
        while tx.size() < 200:
            acting = Acting(site, tx, (who,), site.clock())
            acting.write("person.unlocked", "person/p-ana.keel", reason=f"asked for the {tx.size()}th time")
    yield site.ledger, rows_of(site)
    site.store.close()


APART = 200 // FINDINGS_LISTED  # as many rows are damaged at once as a walk lists


def flipped(value: bytes, bit: int) -> bytes:
    raw = bytearray(value)
    raw[bit // 8] ^= 1 << bit % 8
    return bytes(raw)


def flips(ledger: str, rows: list[Row], step: int) -> int:
    """Flip every ``step``-th bit of body, leaf and head, in twenty rows at a time; how many flips were found."""
    found = 0
    codes = {"body": "integrity.leaf", "leaf": "integrity.leaf", "head": "integrity.chain"}
    for column, code in codes.items():
        longest = max(len(getattr(row, column)) for row in rows) * 8
        for start in range(APART):
            here = range(start, len(rows), APART)
            for bit in range(start % step, longest, step):
                struck = [at for at in here if bit < len(getattr(rows[at], column)) * 8]
                changed = list(rows)
                for at in struck:
                    damage: dict[str, Any] = {column: flipped(getattr(rows[at], column), bit)}
                    changed[at] = rows[at]._replace(**damage)
                findings = walk(ledger, changed).findings
                assert [(each.code, each.where) for each in findings] == [(code, f"entry {at + 1}") for at in struck]
                found += len(struck)
    return found


def number_flips(ledger: str, rows: list[Row], step: int) -> tuple[int, int]:
    """Flip every ``step``-th bit of the numbers, one at a time; how many were found, how many the database refuses.

    Rows come sorted, and no walk meets those below 1, as the store gives them; those it names itself.
    """
    numbers = {row.seq for row in rows}
    found, refused = 0, 0
    for place in range(0, len(rows) * 64, step):
        at, bit = divmod(place, 64)
        other = rows[at].seq - 2**63 if bit == 63 else rows[at].seq ^ 1 << bit
        if other in numbers:
            refused += 1  # a primary key
            continue
        changed = sorted([*rows[:at], rows[at]._replace(seq=other), *rows[at + 1 :]])
        findings = walk(ledger, [row for row in changed if row.seq > 0]).findings
        cut = at == len(rows) - 1 and other < 1  # as if the last entry were not there, but for its odd number
        assert (findings[0].where == f"entry {at + 1}") if not cut else findings == (), (at, bit)
        found += 1
    return found, refused


@pytest.mark.refuses("P11 11.10", "P11 11.10(a)", "P11 11.10(e)")
def test_t1_a_sample_of_bits_of_two_hundred_entries(two_hundred: tuple[str, list[Row]]) -> None:
    """Every 61st bit of number, body, leaf hash and head; every bit is the long campaign's."""
    assert flips(*two_hundred, step=61) > 4000
    assert sum(number_flips(*two_hundred, step=61)) == 210


@pytest.mark.long
def test_t1_every_bit_of_two_hundred_entries(two_hundred: tuple[str, list[Row]]) -> None:
    _, rows = two_hundred
    bits = sum(len(column) * 8 for row in rows for column in (row.body, row.leaf, row.head))
    assert flips(*two_hundred, step=1) == bits > 400_000
    found, refused = number_flips(*two_hundred, step=1)
    assert found + refused == 200 * 64
    print(f"found: {bits} bits of bodies and hashes, {found} of numbers; {refused} refused")  # noqa: T201  shown with -rP


@pytest.mark.refuses("P11 11.10", "A11 7.1", "DI Q10")
def test_t2_a_bit_of_a_file_or_document_names_it_and_the_entry_that_cites_it(played: Played, tmp_path: Path) -> None:
    for number, kind in enumerate(("source_file", "document")):
        column = "sha256" if kind == "source_file" else "source"
        with closing(sqlite3.connect(played.site.store.path)) as store:
            store.execute("PRAGMA query_only = ON")
            (name,) = store.execute(f"SELECT {column} FROM {kind} ORDER BY seq LIMIT 1").fetchone()  # noqa: S608
            (body,) = store.execute("SELECT body FROM objects WHERE sha256 = ?", (name,)).fetchone()
            places = store.execute("SELECT min(seq) FROM ledger WHERE instr(CAST(body AS TEXT), ?)", (name,)).fetchone()
        other = zlib.compress(flipped(zlib.decompress(body), 77), 6).hex()
        change = f"UPDATE objects SET body = x'{other}' WHERE sha256 = '{name}'"  # noqa: S608  hexadecimal digits
        findings = tampered(played, tmp_path / str(number), *without_triggers(played), change)
        text = spot(findings, "integrity.object")
        assert text.startswith(f"object {name[:16]}…")
        assert f"Entry {places[0]} names it first." in text


def test_t3_a_bit_of_a_certificate_names_the_certificate(stage: Stage) -> None:
    """By its seal, and by the digest of the whole file in the ledger."""
    number = stage.played.certificates[0]
    pdf = stage.pdf(number)
    trust = read_trust(trust_of(stage.site))
    assert isinstance(trust, Trust)
    with stage.site.store.reading() as view:
        row = view.row("certificate", number=number)
    assert row is not None
    for place in range(11, len(pdf), len(pdf) // 12):
        changed = flipped(pdf, place * 8 + place % 8)
        assert verify_certificate(changed, trust).word != "GENUINE"
        assert sha256(changed).hexdigest() != row["sealed"] == sha256(pdf).hexdigest()


ROWS = [
    pytest.param(("DELETE FROM ledger WHERE seq = 40",), "integrity.sequence-gap", "entry 40", id="T4 a row taken out"),
    pytest.param(
        ("DELETE FROM ledger WHERE seq BETWEEN 40 AND 49",),
        "integrity.sequence-gap",
        "entries 40 to 49 are missing",
        id="T4 ten rows taken out",
    ),
    pytest.param(
        (
            "UPDATE ledger SET seq = -1 WHERE seq = 30",
            "UPDATE ledger SET seq = 30 WHERE seq = 31",
            "UPDATE ledger SET seq = 31 WHERE seq = -1",
        ),
        "integrity.chain",
        "entry 30",
        id="T5 two rows swapped",
    ),
    pytest.param(
        (
            "UPDATE ledger SET seq = -seq - 1 WHERE seq >= 50",
            "UPDATE ledger SET seq = -seq WHERE seq < 0",
            "INSERT INTO ledger SELECT 50, body, leaf, head FROM ledger WHERE seq = 20",
        ),
        "integrity.chain",
        "entry 50",
        id="T5 a row put in",
    ),
    pytest.param(
        ("INSERT INTO ledger SELECT (SELECT max(seq) + 1 FROM ledger), body, leaf, head FROM ledger WHERE seq = 9",),
        "integrity.chain",
        "entry 1",
        id="T5 a row doubled at the end",
    ),
    pytest.param(
        ("UPDATE result SET value_text = '1.23' WHERE rowid = 3",),
        "integrity.derived-row",
        "value_text",
        id="T6 a result",
    ),
    pytest.param(
        ("UPDATE run SET state = 'cancelled' WHERE run = 'R-00001'",),
        "integrity.derived-row",
        "run R-00001: state",
        id="T6 a state",
    ),
    pytest.param(
        (
            (
                "UPDATE certificate SET sealed = (SELECT sealed FROM certificate WHERE number = 'C-2026-00002') "
                "WHERE number = 'C-2026-00001'"
            ),
        ),
        "integrity.derived-row",
        "certificate C-2026-00001",
        id="T18 the sealed file of another certificate",
    ),
    pytest.param(
        ("UPDATE run SET source_sha256 = (SELECT source_sha256 FROM run WHERE run = 'R-00003') WHERE run = 'R-00001'",),
        "integrity.derived-row",
        "run R-00001",
        id="T18 the instrument file of another run",
    ),
    pytest.param(
        ("UPDATE role SET role = 'approver' WHERE role = 'analyst' AND person = 'p-maren.holt'",),
        "integrity.derived-row",
        "p-maren.holt",
        id="T22 a role",
    ),
    pytest.param(
        ("UPDATE person SET suspended = 1 - suspended WHERE person = 'p-maren.holt'",),
        "integrity.derived-row",
        "p-maren.holt",
        id="T22 an account",
    ),
    pytest.param(
        ("UPDATE password SET hash = replace(hash, '$', '$') || 'x' WHERE person = 'p-maren.holt'",),
        "integrity.password-hash",
        "p-maren.holt",
        id="T22 a password",
    ),
]


@pytest.mark.refuses("P11 11.10(a)", "P11 11.10(e)", "A11 12.4", "PI041 complete")
@pytest.mark.parametrize(("statements", "code", "place"), ROWS)
def test_rows_by_class(played: Played, tmp_path: Path, statements: tuple[str, ...], code: str, place: str) -> None:
    findings = tampered(played, tmp_path / "site", *without_triggers(played), *statements)
    texts = [f"{each.where}: {each.what}" for each in findings if each.code == code]
    assert any(place in text for text in texts), findings


# ------------------------------------------------------------------ T7 to T10: what only an anchor shows


def cut(site: Site, size: int) -> None:
    """Cut everything after entry ``size``, and make the derived rows fit: the owner of the file has all the time."""
    with closing(sqlite3.connect(site.store.path)) as store:
        for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            store.execute(f"DROP TRIGGER {name}")
        store.execute("DELETE FROM ledger WHERE seq > ?", (size,))
        store.execute("DELETE FROM checkpoint WHERE size > ?", (size,))
        bodies = [body for (body,) in store.execute("SELECT body FROM ledger ORDER BY seq")]
        _new_nodes(store, bodies)
        store.commit()
    rebuild_site(site)


def _new_nodes(store: sqlite3.Connection, bodies: list[bytes]) -> None:
    store.execute("DELETE FROM tree_node")
    nodes = (node for node in complete_nodes(record_hash(body) for body in bodies) if node.level)
    store.executemany("INSERT INTO tree_node VALUES (?, ?, ?)", ((node.level, node.index, node.hash) for node in nodes))


def rewritten(site: Site, seq: int, **change: str) -> None:
    """Change one entry and make every hash after it, and every checkpoint kept here, again with the site's own key."""
    with site.store.reading() as view:
        key_id = view.rows("site")[0]["tree_key_id"]
        kept = view.checkpoints()
    key = open_tree_key(site.private, key_id)
    with closing(sqlite3.connect(site.store.path)) as store:
        for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            store.execute(f"DROP TRIGGER {name}")
        (old,) = store.execute("SELECT body FROM ledger WHERE seq = ?", (seq,)).fetchone()
        entry = parse_canonical(old)
        assert isinstance(entry, dict)
        store.execute("UPDATE ledger SET body = ? WHERE seq = ?", (canonical_bytes({**entry, **change}), seq))
        bodies = [body for (body,) in store.execute("SELECT body FROM ledger ORDER BY seq")]
        head = first_head(site.ledger)
        for number, body in enumerate(bodies, start=1):
            leaf = record_hash(body)
            head = next_head(head, leaf)
            store.execute("UPDATE ledger SET leaf = ?, head = ? WHERE seq = ?", (leaf, head, number))
        _new_nodes(store, bodies)
        store.execute("DELETE FROM checkpoint")
        for size, _ in kept:
            made = make_checkpoint(
                ledger=site.ledger,
                size=size,
                root=_root(bodies[:size]),
                at="2026-03-02T08:00:00.000Z",
                public_key=key.public_key().public_bytes_raw(),
                sign=key.sign,
            )
            store.execute("INSERT INTO checkpoint VALUES (?, ?)", (size, write_checkpoint(made).decode()))
        store.commit()
    rebuild_site(site)


def _root(bodies: list[bytes]) -> bytes:
    rows, head = [], first_head("x")
    for seq, body in enumerate(bodies, start=1):
        leaf = record_hash(body)
        head = next_head(head, leaf)
        rows.append((seq, body, leaf, head))
    return walk("x", rows).root


def unlocked(bench: Bench, times: int) -> None:
    for turn in range(times):
        bench.do(UnlockPerson("p-ana.keel", f"turn {turn}"), "emil")


def without_schema(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Dropped triggers are their own class; here they only made the attack easy to write."""
    return tuple(each for each in findings if each.code != "integrity.schema")


@pytest.mark.refuses("P11 11.10(a)", "PI041 complete")
def test_t7_a_cut_end_is_found_with_an_anchor_and_not_claimed_without(bench: Bench) -> None:
    unlocked(bench, 6)
    anchor = checkpoints.make(bench.site)
    cut(bench.site, 4)
    report = verify_site(bench.site)
    assert (without_schema(report.findings), report.anchored) == ((), False)
    assert said(verify_site(bench.site, [anchor]).findings) == {("integrity.tail-missing", anchor.name)}


@pytest.mark.refuses("P11 11.10(a)", "PI041 complete")
def test_t8_an_old_store_put_back_is_found_with_an_anchor_and_not_claimed_without(bench: Bench, tmp_path: Path) -> None:
    unlocked(bench, 2)
    shutil.copy(bench.site.store.path, tmp_path / "old")
    unlocked(bench, 3)
    anchor = checkpoints.make(bench.site)
    shutil.copy(tmp_path / "old", bench.site.store.path)
    assert verify_site(bench.site).findings == ()
    (finding,) = verify_site(bench.site, [anchor]).findings
    assert (finding.code, finding.where) == ("integrity.tail-missing", anchor.name)
    assert "at least 3 are missing" in finding.what


@pytest.mark.refuses("P11 11.10", "P11 11.10(e)")
def test_t9_a_history_rewritten_with_the_site_s_own_key_is_bounded_by_the_anchors(bench: Bench) -> None:
    anchors = []
    for _ in range(3):
        unlocked(bench, 2)
        anchors.append(checkpoints.make(bench.site))
    rewritten(bench.site, 5, reason="nobody asked")
    assert without_schema(verify_site(bench.site).findings) == ()
    findings = without_schema(verify_site(bench.site, anchors).findings)
    assert {each.code for each in findings} <= {"integrity.root", "integrity.fork"}
    sizes = [anchor.size for anchor in anchors]
    assert sizes == [3, 5, 7]
    assert f"lies in {sizes[0] + 1} to {sizes[1]}." in spot(findings, "integrity.root")


@pytest.mark.refuses("P11 11.10")
def test_t10_two_histories_shown_to_two_people(bench: Bench, tmp_path: Path) -> None:
    """Each holds together; two anchors of one size show it."""
    shutil.copytree(bench.site.folder, tmp_path / "other")
    other = opened(bench, tmp_path / "other")
    bench.do(UnlockPerson("p-ana.keel", "for the first"), "emil")
    second_history(other, bench)
    one, two = checkpoints.make(bench.site), checkpoints.make(other)
    assert one.size == two.size
    assert verify_site(bench.site, [one]).findings == verify_site(other, [two]).findings == ()
    found = said(verify_site(bench.site, [one, two]).findings)
    assert ("integrity.fork", f"{one.name} and {two.name}") in found
    other.store.close()


def opened(bench: Bench, folder: Path) -> Site:
    return open_site(folder, clock=bench.clock, hashes=cheap_hashes)


def second_history(site: Site, bench: Bench) -> None:
    replace(bench, site=site).do(UnlockPerson("p-ana.keel", "for the second"), "emil")


# ------------------------------------------------------------------ T12, T13: keys and signers


@pytest.mark.refuses("P11 11.10", "P11 11.70")
def test_t12_a_rogue_key_under_the_right_name(bench: Bench) -> None:
    """A checkpoint of the right ledger, size and root, signed by another key: it is no anchor, and it is named."""
    unlocked(bench, 3)
    true = checkpoints.make(bench.site)
    rogue = Ed25519PrivateKey.from_private_bytes(bytes(32))
    forged = make_checkpoint(
        ledger=true.ledger,
        size=true.size,
        root=true.root_hash,
        at=true.at,
        public_key=rogue.public_key().public_bytes_raw(),
        sign=rogue.sign,
    )
    named = Checkpoint(**{name: getattr(forged, name) for name in forged.__slots__} | {"key_id": true.key_id})
    for each in (forged, named):
        findings = verify_site(bench.site, [each]).findings
        assert findings
        assert all(finding.where.startswith(each.name.split(" ")[0]) for finding in findings)


@dataclass(frozen=True)
class Forged:
    """Somebody who writes a signed entry around the door, with every hash right."""

    bench: Bench

    def approve(self, person: str, name: str, role: Role) -> None:
        site = self.bench.site
        bench = self.bench
        bench.do(AddDocument(starter("layouts/comma-list.yaml").encode(), "layout"), "ana")
        who = Who(person, name, frozenset({role}), signs=True)
        with site.store.writing() as tx:
            row = tx.rows("document", id="comma-list")[0]
            acting = Acting(site, tx, (who,), bench.clock())
            subject = f"document/{row['kind']}/{row['id']}"
            signature = acting.sign(who, role, Meaning.APPROVED, subject, version=1, digest=row["value"])
            last = tx.size()
            facts = {"kind": row["kind"], "id": row["id"], "version": 1, "supersedes": 0, "signature": signature}
            acting.write("document.approved", subject, facts=facts, digests={"value": row["value"]})
            assert tx.size() == last + 1


def closed(bench: Bench) -> None:
    bench.do(DisablePerson("p-cleo.strand", "left"), "emil")


def role_taken(bench: Bench) -> None:
    bench.do(ChangeRole("p-cleo.strand", Role.REVIEWER, gives=True, reason="moved"), "emil")
    bench.do(ChangeRole("p-cleo.strand", Role.APPROVER, gives=False, reason="moved"), "emil")


def after_a_reset(bench: Bench) -> None:
    bench.do(ResetPassword("p-cleo.strand", "lent for one morning only", "forgotten"), "emil")


@pytest.mark.clause("A11 14")
@pytest.mark.refuses("A11 14", "P11 11.200(a)(3)", "P11 11.300(c)")
@pytest.mark.parametrize(
    ("before", "words"),
    [
        pytest.param(closed, "no open account", id="after the account was closed"),
        pytest.param(role_taken, "did not have that role", id="after the role was taken"),
        pytest.param(after_a_reset, "before it was confirmed", id="while the account waited"),
        pytest.param(None, "", id="none of these"),
    ],
)
def test_t13_a_signature_after_its_signer_could_not_sign(
    bench: Bench, before: Callable[[Bench], None] | None, words: str
) -> None:
    if before is not None:
        before(bench)
    Forged(bench).approve("p-cleo.strand", "Cleo Strand", Role.APPROVER)
    found = [each for each in verify_site(bench.site).findings if each.code == "integrity.signer"]
    assert [words in each.what for each in found] == ([True] if words else [])
    assert all(each.where.startswith(f"entry {bench.entries()} (") for each in found)


# ------------------------------------------------------------------ T14, T17, T19, T21


@pytest.mark.refuses("PI041 consistent")
def test_t14_a_clock_set_back_is_named_with_entry_and_seconds(bench: Bench) -> None:
    unlocked(bench, 1)
    who = Who("p-emil.holt", "Emil Holt", frozenset(), signs=False)
    with bench.site.store.writing() as tx:
        Acting(bench.site, tx, (who,), bench.clock.now.replace(hour=3)).write("person.unlocked", "person/p-ana.keel")
    (finding,) = verify_site(bench.site).findings
    assert finding.code == "integrity.time-order"
    assert finding.where.startswith(f"entry {bench.entries()} (")
    assert "s before the entry before it" in finding.what


def test_t17_an_old_delivery_put_down_again_has_its_old_number(stage: Stage, tmp_path: Path) -> None:
    """Number and place in the ledger stand in the manifest, so a receiver who keeps the last one sees a repeat."""
    import json  # noqa: PLC0415

    from benchseal.desk import deliveries  # noqa: PLC0415

    with stage.site.store.reading() as view:
        row = view.rows("delivery")[0]
        files = dict(json.loads(row["files"]))
        (name,) = [name for name in files if name.endswith(".manifest.json")]
        manifest = json.loads(view.bytes_of(files[name]))
    again = deliveries.put_down(stage.site, row["delivery_id"], str(tmp_path))
    there = next(tmp_path.glob("*.manifest.json"))
    assert json.loads(there.read_text(encoding="utf-8")) == manifest
    assert manifest["number"] == 1
    assert again.data["delivery"] == row["delivery_id"]


@pytest.mark.refuses("A11 7.2", "17025 8.4")
@pytest.mark.parametrize("name", ["store.sqlite", "trust.json", "benchseal.toml"])
def test_t19_an_altered_backup_names_the_file(bench: Bench, tmp_path: Path, name: str) -> None:
    make_backup(bench.site, tmp_path / "b.zip")
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        parts = {one: archive.read(one) for one in archive.namelist()}
    parts[name] = flipped(parts[name], len(parts[name]) * 4)
    with zipfile.ZipFile(tmp_path / "altered.zip", "w") as archive:
        for one in (MANIFEST, *(each for each in parts if each != MANIFEST)):
            archive.writestr(one, parts[one])
    with pytest.raises(Stopped) as stop, unpacked(tmp_path / "altered.zip"):
        pass
    assert stop.value.notices[0].code == "backup.altered"
    assert name in f"{stop.value.notices[0].where} {stop.value.notices[0].what}"


@pytest.mark.refuses("A11d 12.3", "P11 11.10(e)")
@pytest.mark.parametrize(
    ("statement", "item"),
    [
        pytest.param("DROP TRIGGER ledger_no_update", "trigger ledger_no_update", id="a trigger dropped"),
        pytest.param("DROP TRIGGER objects_no_delete", "trigger objects_no_delete", id="another dropped"),
        pytest.param("ALTER TABLE hold ADD COLUMN more TEXT", "table hold", id="a column more"),
        pytest.param(
            "CREATE TRIGGER quiet AFTER INSERT ON ledger BEGIN DELETE FROM hold; END", "trigger quiet", id="one more"
        ),
        pytest.param("CREATE VIEW aside AS SELECT * FROM ledger", "view aside", id="a view"),
    ],
)
def test_t21_a_changed_schema_names_the_object(bench: Bench, statement: str, item: str) -> None:
    with closing(sqlite3.connect(bench.site.store.path)) as store:
        store.execute(statement)
        store.commit()
    assert ("integrity.schema", item) in {(each.code, each.where) for each in verify_site(bench.site).findings}
