"""A site whose store an earlier version made, brought to this version: old or new whole at any moment, never half.

Order: hold the queue; make the new store in a file beside; an administrator puts it on record there; verify it whole;
give the old file its second name; put the new one in its place. Killed anywhere, the site is the old one, or the new
one and complete; what lies beside is removed at the next start.
"""

from __future__ import annotations

import os
import shutil
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.acts_upkeep import NoteUpgrade
from benchseal.desk.checking import verify_site
from benchseal.desk.drop import FILE_OPERATIONS
from benchseal.desk.perform import one_line_for_disk_faults, perform
from benchseal.desk.site import Site
from benchseal.ledger.tree import tree_root
from benchseal.problems import Stopped, Trouble
from benchseal.store.sqlite import SqliteStore
from benchseal.store.tables import STORE_VERSION
from benchseal.store.upgrading import count_failures, fill_from, version_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from benchseal.desk.admission import Credentials
    from benchseal.desk.clock import Clock
    from benchseal.identity.password_hashes import PasswordHashes

PART = "store.upgrade.sqlite"


@dataclass(frozen=True, slots=True)
class OldSite:
    """A site whose store is of an earlier version: its folder and ledger, its store's file and version."""

    folder: Path
    ledger: str
    path: Path
    version: int


@dataclass(frozen=True, slots=True)
class Upgraded:
    """What was done: entries taken over and the one written, versions, the name the old file is kept under."""

    entries: int
    before: int
    now: int
    kept_as: str


def old_site(folder: Path, ledger: str, store_file: str) -> OldSite | None:
    """The site if its store is of an earlier version; None where it is of this one. Raises Stopped for a newer one."""
    path = folder / store_file
    if not path.is_file():
        return None
    version = version_of(path)
    if version > STORE_VERSION:
        what = f"the store has version {version}, this program reads {STORE_VERSION}."
        raise Stopped(
            Trouble("store.version", str(path), what, "Use the program version that wrote it, or a newer one.")
        )
    return OldSite(folder, ledger, path, version) if 0 < version < STORE_VERSION else None


def upgrade(
    old: OldSite, clock: Clock, hashes: PasswordHashes, credentials: Callable[[], tuple[Credentials, ...]]
) -> Upgraded:
    """Bring a site to this version. credentials: asked for before the queue is held. Raises Stopped."""
    part, given = old.folder / PART, credentials()
    before = SqliteStore(old.path, old.ledger)
    with one_line_for_disk_faults(), before.queued():
        if version_of(old.path) != old.version:
            what = "somebody else brought it to this version meanwhile."
            raise Stopped(Trouble("store.busy", str(old.path), what, "Nothing needs to be done."))
        before.settle()
        _discard(part)
        try:
            done = _made(old, part, clock, hashes, given)
            _in_place(old, part, done.kept_as)
        finally:
            _discard(part)
    return done


def _made(
    old: OldSite, part: Path, clock: Clock, hashes: PasswordHashes, credentials: tuple[Credentials, ...]
) -> Upgraded:
    """The new store, whole in its file beside the old one."""
    store = SqliteStore.create(part, old.ledger)
    try:
        entries = fill_from(old.path, store)
        site = Site(folder=old.folder, ledger=old.ledger, store=store, clock=clock, hashes=hashes)
        with store.reading() as view:
            root = tree_root(entries, view).hex()
        kept_as = _free_name(old)
        try:
            perform(site, NoteUpgrade(old.version, STORE_VERSION, entries, root, kept_as), *credentials)
        except Stopped:
            count_failures(old.path, store)  # a wrong password counts, though the file it was tried on goes
            raise
        if found := verify_site(site).findings:
            raise Stopped(*found)
    finally:
        store.close()
    return Upgraded(entries + 1, old.version, STORE_VERSION, kept_as)


def _in_place(old: OldSite, part: Path, kept_as: str) -> None:
    """The old file gets a second name, then the new one takes its place: one rename, before or after."""
    _sync(part)
    _keep(old.path, old.folder / kept_as)
    os.replace(part, old.path)  # noqa: PTH105  one rename over the old name
    FILE_OPERATIONS.sync_folder(old.folder)


def _keep(path: Path, kept: Path) -> None:
    """A second name for the old file; a copy where the disk knows no second names."""
    try:
        os.link(path, kept)
    except OSError:
        copied = kept.with_suffix(".part")
        shutil.copyfile(path, copied)
        _sync(copied)
        copied.rename(kept)


def _free_name(old: OldSite) -> str:
    """A name nobody has; one an upgrade that was killed gave the very same file is taken away first."""
    number = 1
    while (path := old.folder / f"store-version-{old.version}-{number}.sqlite").exists():
        if path.samefile(old.path):
            path.unlink()
            break
        number += 1
    return path.name


def _sync(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


def _discard(part: Path) -> None:
    for path in (part, part.with_name(f"{part.name}-journal"), part.with_suffix(".queue"), part.with_suffix(".turns")):
        with suppress(OSError):
            path.unlink(missing_ok=True)
