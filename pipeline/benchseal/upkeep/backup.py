"""Backups: one file with the store, the settings, what customers trust and the log of reads, listed and signed.

The keys of the site are never in it. A ZIP archive of stored members (the store's objects are compressed already):
``manifest.json`` first, then each file it lists. Signed bytes: ``benchseal-backup/1`` and a line end, then the
canonical manifest without its signature; Ed25519 with the key of the tree heads.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import shutil
import tempfile
import zipfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from benchseal import __version__
from benchseal.desk.clock import stamp
from benchseal.desk.drop import FILE_OPERATIONS
from benchseal.desk.keys import open_tree_key
from benchseal.desk.read_log import READS_FILE
from benchseal.desk.site import SETTINGS_FILE, STORE_FILE, TRUST_FILE
from benchseal.ledger.tree import tree_root
from benchseal.problems import Problem, Stopped, Trouble
from benchseal.records.canonical import Json, canonical_bytes
from benchseal.store.copying import copy_store
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.desk.site import Site

SCHEMA = "backup/1"
MANIFEST = "manifest.json"
FILES = (SETTINGS_FILE, STORE_FILE, TRUST_FILE)  # and the log of reads
_SIGNED = b"benchseal-backup/1\n"
_BLOCK = 1024 * 1024
_MOMENT = (1980, 1, 1, 0, 0, 0)  # times of members say nothing; the manifest does


@dataclass(frozen=True, slots=True)
class Made:
    """A backup that was written: how many entries it holds, their root, digest of the file."""

    entries: int
    root: str
    sha256: str
    size: int
    signed: bool


def make_backup(site: Site, target: Path) -> Made:
    """Write a backup of ``site`` to the new file ``target`` and read it back. Raises Stopped; then no file is left."""
    if target.exists():
        raise Stopped(_exists(target))
    part = target.with_name(f"{target.name}.{secrets.token_hex(4)}.part")
    try:
        with tempfile.TemporaryDirectory(prefix="benchseal-backup-") as folder:
            return _write(site, Path(folder), part, target)
    except FileExistsError:
        raise Stopped(_exists(target)) from None
    except OSError as fault:
        raise Stopped(
            Trouble(
                "backup.not-made", str(target), f"it could not be written: {fault}.", "Look at the disk; try again."
            )
        ) from None
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def signed_bytes(manifest: Mapping[str, Json]) -> bytes:
    """What the signature of a manifest covers."""
    return _SIGNED + canonical_bytes({name: value for name, value in manifest.items() if name != "signature"})


def digest_of(path: Path) -> str:
    """SHA-256 of a file, a block at a time."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _write(site: Site, folder: Path, part: Path, target: Path) -> Made:
    copied = folder / STORE_FILE
    copy_store(site.store.path, copied)
    store = SqliteStore.open(copied, site.ledger)
    try:
        with store.reading() as view:
            entries, root = view.size(), tree_root(view.size(), view).hex()
            row = view.row("site", ledger=site.ledger)
    finally:
        store.close()
    files = {name: site.folder / name for name in FILES if name != STORE_FILE and (site.folder / name).is_file()}
    files[STORE_FILE] = copied
    files |= _reads(site, folder)
    manifest: dict[str, Json] = {
        "schema": SCHEMA,
        "program": __version__,
        "ledger": site.ledger,
        "entries": entries,
        "root": root,
        "at": stamp(site.clock()),
        "key_id": row["tree_key_id"] if row else "",
        "files": [
            {"name": name, "size": path.stat().st_size, "sha256": digest_of(path)}
            for name, path in sorted(files.items())
        ],
    }
    manifest["signature"] = _signature(site, manifest)
    _archive(part, manifest, files)
    made = Made(entries, root, digest_of(part), part.stat().st_size, bool(manifest["signature"]))
    FILE_OPERATIONS.publish(part, target)
    FILE_OPERATIONS.sync_folder(target.parent)
    for left in FILE_OPERATIONS.parts(target):  # of an attempt that was killed; one still at work loses the name anyway
        left.unlink(missing_ok=True)
    return made


def may_hold(name: str) -> bool:
    """Whether a backup may hold a file of this name."""
    return name in FILES or READS_FILE.fullmatch(name) is not None


def _reads(site: Site, folder: Path) -> dict[str, Path]:
    """The log of reads, copied after the store: it holds every line the store notes, and grows no more."""
    found = [path for path in sorted(site.folder.iterdir()) if READS_FILE.fullmatch(path.name)]
    return {path.name: Path(shutil.copyfile(path, folder / path.name)) for path in found}


def _exists(target: Path) -> Problem:
    what = "a file of this name is there already."
    return Problem("backup.exists", str(target), what, "Name a new file; a backup is never overwritten.")


def _signature(site: Site, manifest: dict[str, Json]) -> str:
    """By the tree heads' key; empty where this machine does not have it: a copy without keys can be backed up too."""
    try:
        key = open_tree_key(site.private, cast("str", manifest["key_id"]))
    except Stopped:
        return ""
    return key.sign(signed_bytes(manifest)).hex()


def _archive(part: Path, manifest: dict[str, Json], files: Mapping[str, Path]) -> None:
    part.touch(mode=0o600, exist_ok=False)  # it holds password hashes
    with part.open("r+b") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
            archive.writestr(zipfile.ZipInfo(MANIFEST, _MOMENT), canonical_bytes(manifest))
            for name, path in sorted(files.items()):
                info = zipfile.ZipInfo(name, _MOMENT)
                info.file_size = path.stat().st_size
                with path.open("rb") as source, archive.open(info, "w", force_zip64=True) as member:
                    while block := source.read(_BLOCK):
                        member.write(block)
        file.flush()
        os.fsync(file.fileno())
