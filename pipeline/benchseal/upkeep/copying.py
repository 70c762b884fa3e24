"""An inspection copy: one new folder that verifies by itself. Nothing is overwritten; nothing private is in it."""

from __future__ import annotations

import os
import re
import secrets
import shutil
from typing import TYPE_CHECKING, NamedTuple

from benchseal import __version__
from benchseal.desk import checkpoints
from benchseal.desk.acting import as_json
from benchseal.desk.clock import stamp
from benchseal.desk.drop import FILE_OPERATIONS
from benchseal.desk.inspection import Asked, Gathered, gather
from benchseal.desk.key_records import trust_bytes
from benchseal.desk.keys import open_tree_key
from benchseal.desk.trail_csv import signatures_csv, trail_csv
from benchseal.ledger.checkpoints import Checkpoint, write_checkpoint
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.tree import prove_inclusion
from benchseal.problems import Problem, Stopped, Trouble
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.entries import Entry, entry_body
from benchseal.records.ids import notice_number
from benchseal.upkeep.copy_words import readme
from benchseal.verify.copy import CHECKPOINT, ENTRIES, LIST, OBJECTS, SCHEMA, signed_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.sqlite import SqliteReading

SUMS = "SHA256SUMS"
LARGEST_COPY_BYTES = 2 * 1024**3


class Copied(NamedTuple):
    """What was written: files, entries, and how much was left out as another customer's."""

    files: int
    entries: int
    withheld: int
    sha256: str


def make_copy(site: Site, asked: Asked, folder: Path) -> Copied:
    """Write a copy into ``folder``, which must not be there. Raises Stopped; then nothing is left of it."""
    part = folder.with_name(f"{folder.name}.{secrets.token_hex(4)}.part")
    if folder.exists() or folder.is_symlink():
        what = "it is there already; nothing is ever overwritten."
        raise Stopped(Problem("copy.exists", str(folder), what, "Name a folder that is not there yet."))
    with site.store.reading() as view:
        gather(view, asked)  # what is not known is said before a head is signed
    head = checkpoints.make(site)
    with site.store.reading() as view:
        found = gather(view, asked)
        files = _files(view, site, found, head)
    manifest = _manifest(site, asked, found, files, head)
    files[LIST] = canonical_bytes(manifest)
    try:
        _write(part, files)
        part.rename(folder)
        FILE_OPERATIONS.sync_folder(folder.parent)
        _forget_parts(folder)
    except OSError as fault:
        what = f"it could not be written: {fault.strerror or fault}."
        raise Stopped(Trouble("copy.not-made", str(folder), what, "Look at the disk; try again.")) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
    withheld = len(found.hidden_entries) + len(found.hidden_objects)
    return Copied(len(files), len(found.entries), withheld, digest(files[LIST]))


def _forget_parts(folder: Path) -> None:
    """Remove what an attempt that was killed left; one still at work loses the name anyway."""
    for left in FILE_OPERATIONS.parts(folder):
        if re.fullmatch(r"\.[0-9a-f]{8}\.part", left.name.removeprefix(folder.name)) and not left.is_symlink():
            shutil.rmtree(left, ignore_errors=True)


def read_copy(folder: Path) -> dict[str, bytes]:
    """Every file of a copy: path inside it, with ``/``, to bytes. Raises Stopped for anything but plain files."""
    if not folder.is_dir():
        raise Stopped(Problem("copy.missing", str(folder), "there is no such folder.", "Check the name."))
    files, total = {}, 0
    for path in sorted(folder.rglob("*")):
        if path.is_dir() and not path.is_symlink():
            continue
        name = path.relative_to(folder).as_posix()
        if path.is_symlink() or not path.is_file():
            what = "it is no plain file; a copy holds nothing else."
            raise Stopped(Problem("copy.not-a-file", str(path), what, "Take the copy as it was handed over."))
        total += path.stat().st_size
        if total > LARGEST_COPY_BYTES:
            what = f"it is larger than {LARGEST_COPY_BYTES} bytes."
            raise Stopped(Problem("copy.too-large", str(folder), what, "Ask for it in parts."))
        files[name] = path.read_bytes()
    return files


def _files(view: SqliteReading, site: Site, found: Gathered, head: Checkpoint) -> dict[str, bytes]:
    hidden = set(found.hidden_entries)
    clear = [entry for entry in found.entries if entry.seq not in hidden]
    files = {
        ENTRIES: canonical_bytes([_proven(view, entry, head, hidden) for entry in found.entries]),
        CHECKPOINT: write_checkpoint(head),
        "trail/trail.csv": trail_csv(clear),
        "trail/signatures.csv": signatures_csv(clear),
        "trust.json": trust_bytes(view, site.ledger),
    }
    for name, data in sorted(found.shown.items()):
        files[f"{OBJECTS}{name}"] = data
    files.update(_named(found, clear))
    return files


def _proven(view: SqliteReading, entry: Entry, head: Checkpoint, hidden: set[int]) -> Json:
    path: list[Json] = [node.hex() for node in prove_inclusion(entry.seq - 1, head.size, view)]
    body = entry_body(entry)
    if entry.seq in hidden:
        return {"seq": entry.seq, "leaf": record_hash(body).hex(), "path": path}
    return {"seq": entry.seq, "body": body.decode(), "path": path}


def _named(found: Gathered, clear: list[Entry]) -> dict[str, bytes]:
    """Instrument files and issued certificates once more, under names people know."""
    files: dict[str, bytes] = {}
    for entry in clear:
        kind, _, name = entry.subject.partition("/")
        raw, sealed = (found.shown.get(entry.digests.get(label, "")) for label in ("raw", "sealed"))
        if raw is not None:
            shown = str(entry.facts.get("name", "file"))
            safe = re.sub(r"[^0-9A-Za-z._-]", "_", shown)
            files[f"raw/{entry.digests['raw'][:8]}-{safe}"] = raw
        if sealed is not None and kind == "certificate":
            files[f"certificates/{name}.pdf"] = sealed
        notice = found.shown.get(entry.digests.get("notice", ""))
        if notice is not None and kind == "certificate":
            files[f"certificates/{notice_number(name)}.pdf"] = notice
    return files


def _manifest(site: Site, asked: Asked, found: Gathered, files: dict[str, bytes], head: Checkpoint) -> dict[str, Json]:
    with site.store.reading() as view:
        row = view.row("site", ledger=site.ledger) or {}
    names: list[Json] = [
        *(f"run/{one}" for one in asked.runs),
        *(f"certificate/{one}" for one in asked.certificates),
        *(f"lot/{one}" for one in asked.lots),
    ]
    withheld: list[Json] = [{"entry": seq, "why": "it names other customers"} for seq in found.hidden_entries]
    withheld += [{"sha256": name, "why": why} for name, why in sorted(found.hidden_objects.items())]
    manifest: dict[str, Json] = {
        "schema": SCHEMA,
        "program": __version__,
        "ledger": site.ledger,
        "laboratory": str(row.get("name", "")),
        "at": stamp(site.clock()),
        "asked": names,
        "whole": asked.whole,
        "key_id": head.key_id,
        "withheld": withheld,
    }
    files["README.txt"] = readme(manifest, len(found.entries), head.size)
    files[SUMS] = "".join(f"{digest(data)}  {name}\n" for name, data in sorted(files.items())).encode()
    manifest["files"] = as_json(
        [{"name": name, "size": len(data), "sha256": digest(data)} for name, data in sorted(files.items())]
    )
    key = open_tree_key(site.private, head.key_id)
    manifest["signature"] = key.sign(signed_bytes(manifest)).hex()
    return manifest


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir(parents=True)
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    for inside in {folder, *(path for path in folder.rglob("*") if path.is_dir())}:
        FILE_OPERATIONS.sync_folder(inside)
