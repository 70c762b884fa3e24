"""Keys handed over and revoked: each by two people, followed from outside, and every way around it found."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tools import check_ledger

from benchseal.desk import checkpoints, keys
from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_keys import RevokeKey, RotateKey
from benchseal.desk.acts_people import ChangeRole, UnlockPerson
from benchseal.desk.checking import verify_site
from benchseal.desk.founding import trust_of
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.identity.keys import Hardness, close_envelope, key_id_of, private_der, public_bytes
from benchseal.ledger.checkpoints import Checkpoint, make_checkpoint, write_checkpoint
from benchseal.ledger.hashes import next_head, record_hash
from benchseal.ledger.key_history import Handover, handover_bytes, handover_object
from benchseal.ledger.tree import tree_root
from benchseal.problems import Stopped
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.people import Role
from benchseal.upkeep.doctor import examine
from benchseal.upkeep.witnessing import witness
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, follows, read_trust

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Bench, Stage

    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json

WHY = "once a year"
ANALYST, APPROVER, ADMINISTRATOR = "p-maren.holt", "p-ruth.calloway", "p-sil.penhallow"


def rotate(bench: Bench, key: str) -> None:
    bench.do(RotateKey(key, WHY), "emil", "cleo")
    finish(bench.site)


def trust(site: Site) -> Trust:
    found = read_trust(json.loads(json.dumps(trust_of(site))))
    assert isinstance(found, Trust)
    return found


def codes(site: Site, *outside: Checkpoint) -> set[str]:
    return {finding.code for finding in verify_site(site, outside).findings}


def by_tool(site: Site, *files: Path, key: str = "") -> list[str]:
    with closing(sqlite3.connect(site.store.path)) as copy:
        return check_ledger.check(copy, [str(one) for one in files], key)[0].found


def refused(bench: Bench, act: object, *names: str) -> str:
    with pytest.raises(Stopped) as found:
        bench.do(act, *names)
    return found.value.notices[0].code


def in_force(site: Site) -> tuple[str, str]:
    with site.store.reading() as view:
        row = view.row("site", ledger=site.ledger)
    assert row is not None
    return row["seal_key_id"], row["tree_key_id"]


def signed_head(site: Site, key: Ed25519PrivateKey) -> Checkpoint:
    with site.store.reading() as view:
        size = view.size()
        root = tree_root(size, view)
    at = "2026-03-02T09:00:00.000Z"
    return make_checkpoint(ledger=site.ledger, size=size, root=root, at=at, public_key=public_bytes(key), sign=key.sign)


# ------------------------------------------------------------------ as it should be


@pytest.mark.clause("P11 11.10(e)")
@pytest.mark.clause("P11 11.300(c)")
@pytest.mark.parametrize("key", ["tree", "seal"])
def test_a_key_is_handed_over_and_everything_before_still_holds(bench: Bench, tmp_path: Path, key: str) -> None:
    before, known = checkpoints.make(bench.site), trust(bench.site)
    seal, tree = in_force(bench.site)
    rotate(bench, key)
    assert in_force(bench.site) != (seal, tree)
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    after = checkpoints.make(bench.site)
    assert after.key_id == in_force(bench.site)[1]
    assert codes(bench.site, before, after) == set()
    (tmp_path / "before.json").write_bytes(write_checkpoint(before))
    (tmp_path / "after.json").write_bytes(write_checkpoint(after))
    for public in (known.ledger_keys[0].public, trust(bench.site).ledger_keys[-1].public):
        assert by_tool(bench.site, tmp_path / "before.json", tmp_path / "after.json", key=public.hex()) == []
    shown = trust(bench.site)
    assert follows(known, shown) is None
    assert follows(shown, known) is not None
    assert len(shown.handovers) == 1


def test_the_head_that_holds_a_handover_is_signed_by_the_old_key(bench: Bench) -> None:
    _, old = in_force(bench.site)
    rotate(bench, "tree")
    with bench.site.store.reading() as view:
        size, body = list(view.checkpoints())[-1]
        assert size == view.size()
    assert json.loads(body)["key_id"] == old


def test_three_handovers_in_a_row_and_both_kinds(bench: Bench) -> None:
    known = trust(bench.site)
    for key in ("tree", "seal", "tree"):
        rotate(bench, key)
    shown = trust(bench.site)
    assert [one.key for one in shown.handovers] == ["tree", "seal", "tree"]
    assert [(one.from_entry, one.until_entry) for one in shown.ledger_keys] == [(1, 3), (3, 7), (7, None)]
    assert follows(known, shown) is None
    assert codes(bench.site) == set()
    assert by_tool(bench.site) == []
    assert {path.name for path in bench.site.private.glob("*.key.json")} == {
        f"seal-{in_force(bench.site)[0]}.key.json",
        f"tree-head-{in_force(bench.site)[1]}.key.json",
    }


def test_a_witness_follows_a_handover_and_no_other_key(bench: Bench, tmp_path: Path) -> None:
    first = checkpoints.growth(bench.site, checkpoints.make(bench.site), 0)
    seen, _ = witness(tmp_path / "w", first, trust(bench.site).ledger_keys, bench.clock)
    rotate(bench, "tree")
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    grown = checkpoints.growth(bench.site, checkpoints.make(bench.site), seen.checkpoint.size)
    stranger = trust(bench.site).ledger_keys[1:]  # a trust file of somebody who has another key and no handover
    with pytest.raises(Stopped) as stopped:
        witness(tmp_path / "w", grown, stranger, bench.clock)
    assert stopped.value.notices[0].code == "witness.key"
    again, _ = witness(tmp_path / "w", grown, trust(bench.site).ledger_keys, bench.clock)
    assert again.checkpoint.size == 4


def test_a_killed_rotation_is_ended_later(bench: Bench) -> None:
    bench.do(RotateKey("tree", WHY), "emil", "cleo")
    assert {"doctor.key-left", "doctor.trust"} <= {one.code for one in examine(bench.site)}
    finish(bench.site)
    assert not {"doctor.key-left", "doctor.trust"} & {one.code for one in examine(bench.site)}
    assert codes(bench.site) == set()


def test_a_rotation_that_stops_leaves_nothing(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    before, files = bench.entries(), sorted(bench.site.private.iterdir())
    monkeypatch.setattr("benchseal.desk.rotation._cover", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        bench.do(RotateKey("tree", WHY), "emil", "cleo")
    assert (bench.entries(), sorted(bench.site.private.iterdir())) == (before, files)


# ------------------------------------------------------------------ who may, and what is refused


@pytest.mark.refuses("P11 11.10(g)")
def test_two_people_and_a_reason(bench: Bench) -> None:
    assert refused(bench, RotateKey("tree", " "), "emil", "cleo") == "act.reason"
    assert refused(bench, RotateKey("tree", WHY), "ana", "cleo") == "act.role"
    assert refused(bench, RotateKey("tree", WHY), "emil", "ben") == "act.role"
    assert refused(bench, RotateKey("tree", WHY), "emil") == "act.signers"
    assert refused(bench, RotateKey("root", WHY), "emil", "cleo") == "keys.which"
    both = ChangeRole("p-cleo.strand", Role.ADMINISTRATOR, gives=True, reason="holidays")
    assert refused(bench, both, "emil") == "duty.administrator-content"


def test_what_cannot_be_revoked(bench: Bench) -> None:
    _, tree = in_force(bench.site)
    assert refused(bench, RevokeKey("0" * 16, "2026-03-01", WHY), "emil", "cleo") == "keys.unknown"
    assert refused(bench, RevokeKey(tree, "2026-03-01", WHY), "emil", "cleo") == "keys.in-force"
    rotate(bench, "tree")
    assert refused(bench, RevokeKey(tree, "first of March", WHY), "emil", "cleo") == "keys.since"
    assert refused(bench, RevokeKey(tree, "2026-03-03", WHY), "emil", "cleo") == "keys.since"
    bench.do(RevokeKey(tree, "2026-03-01", WHY), "emil", "cleo")
    assert refused(bench, RevokeKey(tree, "2026-03-01", WHY), "emil", "cleo") == "keys.already-revoked"
    assert codes(bench.site) == set()
    assert "doctor.event" in {one.code for one in examine(bench.site)}


# ------------------------------------------------------------------ forged


@pytest.mark.refuses("P11 11.10(a)")
def test_a_head_by_a_key_nobody_handed_over_to(bench: Bench) -> None:
    assert codes(bench.site, signed_head(bench.site, Ed25519PrivateKey.generate())) == {"integrity.checkpoint-key"}


@pytest.mark.refuses("P11 11.300(c)")
def test_the_old_key_after_its_end_and_the_new_one_before_its_beginning(bench: Bench, tmp_path: Path) -> None:
    old = keys.open_tree_key(bench.site.private, in_force(bench.site)[1])
    early = bench.entries()
    rotate(bench, "tree")
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    late = signed_head(bench.site, old)
    assert codes(bench.site, late) == {"integrity.key-ended"}
    (tmp_path / "late.json").write_bytes(write_checkpoint(late))
    assert any("no key in force" in line for line in by_tool(bench.site, tmp_path / "late.json"))
    new = keys.open_tree_key(bench.site.private, in_force(bench.site)[1])
    with bench.site.store.reading() as view:
        root = tree_root(early, view)
    before = make_checkpoint(
        ledger=bench.site.ledger, size=early, root=root, at=late.at, public_key=public_bytes(new), sign=new.sign
    )
    assert codes(bench.site, before) == {"integrity.key-ended"}


@pytest.mark.refuses("P11 11.10(a)")
def test_a_key_swapped_on_disk_signs_nothing(bench: Bench) -> None:
    """Whoever reads the unlock file can close any key in an envelope with the right name on it."""
    _, tree = in_force(bench.site)
    passphrase = (bench.site.private / "unlock").read_text(encoding="utf-8").strip()
    other = close_envelope(
        private_der(Ed25519PrivateKey.generate()),
        key_id=tree,
        passphrase=passphrase,
        salt=bytes(16),
        nonce=bytes(12),
        hardness=Hardness(1, 8, 1),
    )
    (bench.site.private / "tree-head.key.json").write_bytes(other)
    with pytest.raises(Stopped) as stopped:
        checkpoints.make(bench.site)
    assert stopped.value.notices[0].code == "keys.envelope-other"
    assert refused(bench, RotateKey("tree", WHY), "emil", "cleo") == "keys.envelope-other"
    assert "doctor.key" in {one.code for one in examine(bench.site)}


def forged_rotation(site: Site, *, signs: bool) -> None:
    """What somebody with the database does: a handover to a key of theirs, chained as if the program had written it.

    signs: whether their new key signs too; the old one's signature they do not have.
    """
    mine = Ed25519PrivateKey.generate()
    with site.store.reading() as view:
        row = view.row("site", ledger=site.ledger)
        assert row is not None
        seq, _, _, head = list(view.entries())[-1]
        entry = seq + 1
        at = "2026-03-02T10:00:00.000Z"
    unsigned = Handover(
        site.ledger, "tree", row["tree_key_id"], key_id_of(mine), bytes.fromhex(row["tree_key"]),
        public_bytes(mine), entry, at,
    )  # fmt: skip
    own = mine.sign(handover_bytes(unsigned)) if signs else bytes(64)
    made = replace(unsigned, old_signature=own, new_signature=own)
    facts: dict[str, Json] = {
        "key": "tree", "old_key_id": made.old_key_id, "new_key_id": made.new_key_id,
        "old_signature": own.hex(), "new_signature": own.hex(),
    }  # fmt: skip
    data = handover_object(made)
    body = canonical_bytes(
        {
            "seq": entry, "kind": "key.rotated", "v": 1, "at": at, "actor": "p-cleo.strand",
            "subject": f"key/{made.new_key_id}", "reason": WHY, "facts": facts, "digests": {"handover": digest(data)},
        }
    )  # fmt: skip
    leaf = record_hash(body)
    import zlib  # noqa: PLC0415

    with closing(sqlite3.connect(site.store.path)) as store:
        store.execute("INSERT INTO ledger VALUES (?, ?, ?, ?)", (entry, body, leaf, next_head(head, leaf)))
        store.execute("INSERT INTO objects VALUES (?, ?, ?)", (digest(data), len(data), zlib.compress(data)))
        store.execute("UPDATE site_key SET until_entry = ? WHERE key_id = ?", (entry, made.old_key_id))
        store.execute(
            "INSERT INTO site_key VALUES ('tree', ?, ?, ?, ?, ?, ?, '', '', '', ?, 0, ?)",
            (made.new_key_id, public_bytes(mine).hex(), digest(data), own.hex(), own.hex(), at, entry, entry),
        )
        store.execute("UPDATE site SET tree_key = ?, tree_key_id = ?", (public_bytes(mine).hex(), made.new_key_id))
        store.commit()
    site.store.close()


@pytest.mark.refuses("P11 11.10(a)")
@pytest.mark.parametrize("signs", [True, False])
def test_a_rotation_forged_by_sql(bench: Bench, *, signs: bool) -> None:
    known = trust(bench.site)
    checkpoints.make(bench.site)
    forged_rotation(bench.site, signs=signs)
    found = codes(bench.site)
    assert {"integrity.key-handover", "integrity.key-not-covered"} <= found
    said = by_tool(bench.site)
    assert any("did not both sign it" in line for line in said)
    shown = read_trust(json.loads(json.dumps(trust_of(bench.site))))
    assert isinstance(shown, tuple), "a trust file with a forged handover is refused"
    assert known.ledger_keys[0].public


def test_a_key_put_beside_the_others_without_a_handover(bench: Bench) -> None:
    mine = public_bytes(Ed25519PrivateKey.generate()).hex()
    with closing(sqlite3.connect(bench.site.store.path)) as store:
        store.execute(
            "INSERT INTO site_key VALUES ('tree', 'ab12ab12ab12ab12', ?, '', '', '', '', '', '', '', 1, 0, 1)", (mine,)
        )
        store.commit()
    assert "integrity.derived-row" in codes(bench.site)


# ------------------------------------------------------------------ certificates of before and after


def release_again(stage: Stage) -> tuple[bytes, Trust]:
    """A certificate released before, and the trust file of then."""
    number = min(path.stem for path in stage.site.certificates.glob("*.pdf"))
    return stage.pdf(number), trust(stage.site)


@pytest.mark.clause("P11 11.30")
def test_certificates_of_an_old_key_stay_genuine_under_the_new_trust_file(stage: Stage) -> None:
    pdf, known = release_again(stage)
    for key in ("seal", "tree"):
        perform(stage.site, RotateKey(key, WHY), stage.key(ADMINISTRATOR), stage.key(APPROVER))
    finish(stage.site)
    shown = trust(stage.site)
    assert verify_certificate(pdf, known).word == "GENUINE"
    assert verify_certificate(pdf, shown).word == "GENUINE"
    ended = shown.seals[0]
    assert ended.until_entry is not None
    early = replace(shown, seals=(replace(ended, until_entry=5), *shown.seals[1:]))
    report = verify_certificate(pdf, early)
    assert report.word == "ALTERED", "sealed with a key that had ended"
    assert any(check.name == "sealing key" and "ended at entry 5" in check.said for check in report.checks)
    keys_early = (replace(shown.ledger_keys[0], until_entry=5), *shown.ledger_keys[1:])
    assert verify_certificate(pdf, replace(shown, ledger_keys=keys_early)).word == "ALTERED"


@pytest.mark.refuses("P11 11.300(c)")
def test_a_revoked_key_vouches_only_for_what_is_on_record(stage: Stage) -> None:
    pdf, _ = release_again(stage)
    by = stage.key(ADMINISTRATOR), stage.key(APPROVER)
    old = in_force(stage.site)
    for key in ("seal", "tree"):
        perform(stage.site, RotateKey(key, WHY), *by)
    for name in old:
        perform(stage.site, RevokeKey(name, "2026-02-01", "the disk was sold"), *by)
    finish(stage.site)
    shown = trust(stage.site)
    good = verify_certificate(pdf, shown)
    assert good.word == "GENUINE"
    assert any("the laboratory confirms this very file" in check.said for check in good.checks)
    nothing = frozenset[str]()
    seal, tree = shown.seals[0], shown.ledger_keys[0]
    assert seal.revoked is not None
    assert tree.revoked is not None
    no_seal = replace(seal, revoked=replace(seal.revoked, confirmed=nothing))
    no_key = replace(tree, revoked=replace(tree.revoked, confirmed=nothing))
    for silent in (
        replace(shown, seals=(no_seal, *shown.seals[1:])),
        replace(shown, ledger_keys=(no_key, *shown.ledger_keys[1:])),
    ):
        report = verify_certificate(pdf, silent)
        assert report.word == "UNKNOWN"
        assert any("does not confirm" in check.said for check in report.checks)


def test_a_release_after_the_handover_is_unknown_to_the_old_trust_file(stage: Stage) -> None:
    _, known = release_again(stage)
    number = waiting_to_release(stage)
    perform(stage.site, RotateKey("seal", WHY), stage.key(ADMINISTRATOR), stage.key(APPROVER))
    finish(stage.site)
    from benchseal.desk.sealing import finish as seal  # noqa: PLC0415

    seal(stage.site, number)
    pdf = stage.pdf(number)
    assert verify_certificate(pdf, known).word == "UNKNOWN"
    assert verify_certificate(pdf, trust(stage.site)).word == "GENUINE"
    assert codes(stage.site) == set()


def waiting_to_release(stage: Stage) -> str:
    """A certificate whose release is signed and that is not sealed."""
    number = str(perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    return number
