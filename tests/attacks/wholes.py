"""What must be whole on a site and beside it after a command was stopped anywhere, read without the program's own word.

Copies of certificates and deliveries by the objects, backups by their own list, keys and trust file by each other,
inspection copies as their receiver checks them.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zipfile
from contextlib import closing
from hashlib import sha256
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from tests.conftest import cheap_hashes

from benchseal.desk.key_records import trust_bytes
from benchseal.desk.keys import left_over, open_seal_key, open_tree_key
from benchseal.desk.rotation import finish
from benchseal.desk.site import open_site
from benchseal.ledger.walk import walk
from benchseal.upkeep.copying import read_copy
from benchseal.upkeep.doctor import examine
from benchseal.verify.copy import check_copy
from benchseal.verify.trust import Trust, follows, read_trust

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.store.protocol import Row

EMPTY = sha256(b"").hexdigest()  # the file that says a delivery is complete
Ledger = list[tuple[int, bytes, bytes, bytes]]


def ledger(store: Path) -> Ledger:
    """Its rows."""
    with closing(sqlite3.connect(store)) as opened:
        return opened.execute("SELECT seq, body, leaf, head FROM ledger ORDER BY seq").fetchall()


def require_whole_files(site: Path) -> None:
    """Whatever has a final name is whole: copies of certificates, deliveries, backups."""
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        known = {name for (name,) in store.execute("SELECT sha256 FROM objects")} | {EMPTY}
        on_record = {name for (name,) in store.execute("SELECT sha256 FROM backup")}
    for folder in (site / "certificates", site / "outbox"):
        for path in folder.iterdir() if folder.is_dir() else ():
            if not path.name.endswith(".part"):
                assert sha256(path.read_bytes()).hexdigest() in known, path.name
    backups = sorted(site.parent.glob("*.zip"))
    for path in backups:
        require_own_list(path, site)
    assert on_record <= {sha256(path.read_bytes()).hexdigest() for path in backups}, "on record, and not there"


def require_own_list(backup: Path, site: Path) -> None:
    """Every byte is as the backup's list says, the list is signed, the ledger inside is a beginning of the site's."""
    folder = backup.with_suffix(".unpacked")
    with zipfile.ZipFile(backup) as archive:
        assert archive.testzip() is None
        listed = json.loads(archive.read("manifest.json"))
        assert sorted(archive.namelist()) == sorted(["manifest.json", *(each["name"] for each in listed["files"])])
        for each in listed["files"]:
            data = archive.read(each["name"])
            assert (len(data), sha256(data).hexdigest()) == (each["size"], each["sha256"]), each["name"]
        trust = json.loads(archive.read("trust.json"))
        archive.extract("store.sqlite", folder)
    key = next(key["public_key_hex"] for key in trust["ledger_keys"] if key["key_id"] == listed["key_id"])
    unsigned = {name: value for name, value in listed.items() if name != "signature"}
    # Canonical bytes of a list that holds text and whole numbers alone: sorted, no spaces.
    body = json.dumps(unsigned, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(
        bytes.fromhex(listed["signature"]), b"benchseal-backup/1\n" + body
    )
    rows = ledger(folder / "store.sqlite")
    walked = walk(listed["ledger"], rows)
    assert (walked.findings, walked.size, walked.root.hex()) == ((), listed["entries"], listed["root"])
    assert rows == ledger(site / "store.sqlite")[: len(rows)]
    (folder / "store.sqlite").unlink()
    folder.rmdir()


def require_keys(site: Path) -> None:
    """Both keys in force open, and the trust file is that of before or follows from it."""
    opened = open_site(site, hashes=cheap_hashes)
    try:
        row = _in_force(site)
        open_tree_key(opened.private, row["tree_key_id"])
        open_seal_key(opened.private, row["seal_key_id"])
    finally:
        opened.store.close()
    known, shown = (_trust(folder / "trust.json") for folder in (site / "private" / "before", site))
    assert shown == known or follows(known, shown) is None


def require_keys_ended(site: Path) -> None:
    """What is left over is named; called again, the rotation leaves one envelope for each key and a true trust file."""
    opened = open_site(site, hashes=cheap_hashes)
    try:
        row = _in_force(site)
        in_force = {row["tree_key_id"], row["seal_key_id"]}
        left = {str(path) for path in left_over(opened.private, in_force)}
        assert {one.where for one in examine(opened) if one.code == "doctor.key-left"} == left
        finish(opened)
        assert left_over(opened.private, in_force) == []
        with opened.store.reading() as view:
            assert (site / "trust.json").read_bytes() == trust_bytes(view, opened.ledger)
    finally:
        opened.store.close()
    require_keys(site)


def require_copy(site: Path) -> None:
    """An inspection copy that has its name is whole to whoever gets it."""
    folder = site.parent / "copy"
    if folder.is_dir():
        checks = check_copy(read_copy(folder), _trust(site / "trust.json"))
        assert all(check.holds for check in checks), checks


def require_copy_ended(site: Path) -> None:
    """It is there, and nothing of an attempt is left beside it."""
    assert (site.parent / "copy").is_dir()
    assert [path.name for path in site.parent.iterdir() if path.name.endswith(".part")] == []


def state(site: Path) -> str:
    """Digest of every file of the site and beside it, the store and what only the campaign writes left out."""
    seen = hashlib.sha256()
    for path in sorted(site.parent.rglob("*")):
        name = path.relative_to(site.parent).as_posix()
        if path.is_file() and not name.startswith(("temporary/", "out", "err", "trace", "strace", "site/store.")):
            seen.update(f"{name} {sha256(path.read_bytes()).hexdigest()}\n".encode())
    return seen.hexdigest()


def _in_force(site: Path) -> Row:
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        tree, seal = store.execute("SELECT tree_key_id, seal_key_id FROM site").fetchone()
    return {"tree_key_id": tree, "seal_key_id": seal}


def _trust(path: Path) -> Trust:
    trust = read_trust(json.loads(path.read_bytes()))
    assert isinstance(trust, Trust), path
    return trust
