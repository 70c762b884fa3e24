"""Acts on backups: as values, and who may do them. What they note was done by ``upkeep/``, outside any transaction."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, SERVICE, ActRow, anyone


@dataclass(frozen=True, slots=True)
class NoteBackup:
    """Put on record that a backup was made: its file name, digest and size, entries in it and their root."""

    name: str
    sha256: str
    size: int
    entries: int
    root: str


@dataclass(frozen=True, slots=True)
class NoteBackupTest:
    """Put on record that a backup was restored elsewhere and verified, and how many findings that gave."""

    name: str
    sha256: str
    entries: int
    root: str
    findings: int


@dataclass(frozen=True, slots=True)
class NoteUpgrade:
    """Put on record that a store of an earlier version was brought to this one.

    before, now: versions of the store. entries, root: what was taken over. kept_as: name of the old file.
    """

    before: int
    now: int
    entries: int
    root: str
    kept_as: str


UPKEEP: tuple[ActRow, ...] = (
    ActRow(
        NoteBackup,
        "backup make",
        anyone(ADMINISTRATOR, SERVICE),
        ("backup.made",),
        "backups:note_backup",
        "write a backup of the site to one new file, while others go on working",
    ),
    ActRow(
        NoteBackupTest,
        "backup test",
        anyone(ADMINISTRATOR, SERVICE),
        ("backup.tested",),
        "backups:note_backup_test",
        "restore a backup elsewhere, verify it whole, and compare it with this site",
    ),
    ActRow(
        NoteUpgrade,
        "rebuild",
        anyone(ADMINISTRATOR),
        ("site.upgraded",),
        "backups:note_upgrade",
        "make the derived rows again from the ledger; brings a store of an earlier version to this one",
    ),
)
