"""Opening a backup: what it lists, whether it holds together, and putting it where nothing was before.

A backup comes from outside: only the names it may hold are taken, nothing longer than it lists is read, and every byte
is compared with the list before anything is used.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import zipfile
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from benchseal.desk.site import CERTIFICATES, OUTBOX, PRIVATE, SETTINGS_FILE, STORE_FILE, Site, open_site
from benchseal.ledger.tree import tree_root
from benchseal.problems import Finding, Problem, Stopped, Trouble
from benchseal.records.canonical import Json, parse_canonical
from benchseal.upkeep.backup import MANIFEST, SCHEMA, may_hold, signed_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

_BLOCK = 1024 * 1024
_LARGEST_MANIFEST = 64 * 1024
_MEMBERS = {"schema", "program", "ledger", "entries", "root", "at", "key_id", "files", "signature"}
_BAD = "This file is no sound backup: keep it, and take another one."


@dataclass(frozen=True, slots=True)
class Contents:
    """What a backup says of itself."""

    ledger: str
    entries: int
    root: str
    at: str
    signed: bool


@contextmanager
def unpacked(backup: Path) -> Iterator[tuple[Site, Contents]]:
    """A backup unpacked into a folder of its own, opened as a site, and removed afterwards. Raises Stopped.

    Every byte is as listed and the list's signature fits the ledger inside. What the ledger itself says, a walk of it
    has to find out (``desk.checking.verify_site``).
    """
    with tempfile.TemporaryDirectory(prefix="benchseal-restore-") as folder:
        contents = _unpack(backup, Path(folder))
        site = open_site(Path(folder))
        try:
            _signed_by_ledger(site, backup)
            yield site, contents
        finally:
            site.store.close()


def restore(backup: Path, folder: Path) -> Contents:
    """Put a backup into ``folder``, which must be new or empty. Raises Stopped; then nothing is left there."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        what = "it is not an empty folder."
        raise Stopped(
            Problem("restore.not-empty", str(folder), what, "Name a new folder; nothing is ever overwritten.")
        )
    part = folder.with_name(f"{folder.name}.part")
    if part.exists():
        what = "it is there from a restore that did not end."
        raise Stopped(Problem("restore.left-over", str(part), what, "Remove it, then try again."))
    try:
        part.mkdir(parents=True)
        contents = _unpack(backup, part)
        for name in (CERTIFICATES, OUTBOX):
            (part / name).mkdir()
        (part / PRIVATE).mkdir(mode=0o700)
        site = open_site(part)
        try:
            _signed_by_ledger(site, backup)
        finally:
            site.store.close()
        if folder.exists():
            folder.rmdir()
        part.rename(folder)
    except OSError as fault:
        what = f"it could not be written: {fault}."
        raise Stopped(Trouble("restore.not-made", str(folder), what, "Look at the disk; try again.")) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return contents


def _unpack(backup: Path, folder: Path) -> Contents:
    if not backup.is_file():
        raise Stopped(Problem("file.missing", str(backup), "there is no such file.", "Check the name."))
    try:
        with zipfile.ZipFile(backup) as archive:
            manifest = _manifest(archive, backup)
            listed = {cast("str", each["name"]): each for each in cast("list[dict[str, Json]]", manifest["files"])}
            needed = {SETTINGS_FILE, STORE_FILE}
            if sorted(archive.namelist()) != sorted([MANIFEST, *listed]) or not needed <= set(listed):
                raise Stopped(Finding("backup.contents", str(backup), "it does not hold what it lists.", _BAD))
            for name, each in listed.items():
                _take(archive, folder / name, name, each, backup)
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as fault:
        raise Stopped(Finding("backup.damaged", str(backup), f"it cannot be read: {fault}.", _BAD)) from None
    return Contents(
        ledger=cast("str", manifest["ledger"]),
        entries=cast("int", manifest["entries"]),
        root=cast("str", manifest["root"]),
        at=cast("str", manifest["at"]),
        signed=bool(manifest["signature"]),
    )


def _manifest(archive: zipfile.ZipFile, backup: Path) -> dict[str, Json]:
    where = f"{backup}, {MANIFEST}"
    if MANIFEST not in archive.namelist() or archive.getinfo(MANIFEST).file_size > _LARGEST_MANIFEST:
        raise Stopped(Problem("backup.unreadable", where, "it is not there, or far too long.", _BAD))
    try:
        value = parse_canonical(archive.read(MANIFEST))
    except ValueError as fault:
        raise Stopped(Problem("backup.unreadable", where, f"{fault}.", _BAD)) from None
    if not isinstance(value, dict) or value.keys() != _MEMBERS or value["schema"] != SCHEMA or not _fits(value):
        raise Stopped(Problem("backup.unreadable", where, "it is not the list of a backup.", _BAD))
    return value


def _fits(value: dict[str, Json]) -> bool:
    files = value["files"]
    return (
        all(isinstance(value[name], str) for name in _MEMBERS - {"entries", "files"})
        and type(value["entries"]) is int
        and isinstance(files, list)
        and all(
            isinstance(each, dict)
            and each.keys() == {"name", "size", "sha256"}
            and isinstance(each["name"], str)
            and may_hold(each["name"])
            and type(each["size"]) is int
            and isinstance(each["sha256"], str)
            for each in files
        )
    )


def _take(archive: zipfile.ZipFile, target: Path, name: str, each: dict[str, Json], backup: Path) -> None:
    """Copy one member, never more than its listed size, and compare."""
    size, seen, found = cast("int", each["size"]), 0, hashlib.sha256()
    descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with archive.open(name) as source, os.fdopen(descriptor, "wb") as file:
        while seen <= size and (block := source.read(min(_BLOCK, size + 1 - seen))):
            seen += len(block)
            found.update(block)
            file.write(block)
        file.flush()
        os.fsync(file.fileno())
    if seen != size or found.hexdigest() != each["sha256"]:
        what = f"{name} is not as listed: {seen} of {size} bytes, digest {found.hexdigest()[:16]}…"
        raise Stopped(Finding("backup.altered", str(backup), what, _BAD))


def _signed_by_ledger(site: Site, backup: Path) -> None:
    """The list's signature, by the key the ledger inside names, and the ledger it names."""
    with zipfile.ZipFile(backup) as archive:
        manifest = _manifest(archive, backup)
    with site.store.reading() as view:
        row = view.row("site", ledger=site.ledger)
        holds = (view.size(), tree_root(view.size(), view).hex())
    if holds != (manifest["entries"], manifest["root"]):
        what = f"its list says {manifest['entries']} entries, the store in it holds {holds[0]} or others."
        raise Stopped(Finding("backup.altered", str(backup), what, _BAD))
    if row is None or manifest["ledger"] != site.ledger or manifest["key_id"] != row["tree_key_id"]:
        what = f"its list is of ledger {manifest['ledger']}, the store in it of another."
        raise Stopped(Finding("backup.altered", str(backup), what, _BAD))
    signature = cast("str", manifest["signature"])
    if not signature:
        return
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(row["tree_key"]))
        key.verify(bytes.fromhex(signature), signed_bytes(manifest))
    except (InvalidSignature, ValueError):
        what = "the signature of its list does not fit."
        raise Stopped(Finding("backup.altered", str(backup), what, _BAD)) from None
