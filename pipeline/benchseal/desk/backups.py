"""What goes on record of backups, and of a site put back from one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import PROGRAM, Acting, Receipt, Who
from benchseal.desk.perform import one_line_for_disk_faults

if TYPE_CHECKING:
    from benchseal.desk.acts_upkeep import NoteBackup, NoteBackupTest, NoteUpgrade
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json


def note_backup(acting: Acting, act: NoteBackup) -> Receipt:
    """A backup was made."""
    facts: dict[str, Json] = {
        "name": act.name,
        "sha256": act.sha256,
        "size": act.size,
        "entries": act.entries,
        "root": act.root,
    }
    acting.write("backup.made", f"backup/{act.sha256[:16]}", facts=facts)
    said = (f"{act.name} holds {act.entries} entries, root {act.root[:16]}…", "Keep it on another machine.")
    return Receipt(said, facts)


def note_backup_test(acting: Acting, act: NoteBackupTest) -> Receipt:
    """A backup was restored elsewhere and looked at."""
    facts: dict[str, Json] = {
        "name": act.name,
        "sha256": act.sha256,
        "entries": act.entries,
        "root": act.root,
        "findings": act.findings,
    }
    acting.write("backup.tested", f"backup/{act.sha256[:16]}", facts=facts)
    words = "Everything in it holds." if act.findings == 0 else f"{act.findings} findings."
    return Receipt((f"{act.name}: {act.entries} entries restored elsewhere. {words}",), facts)


def note_upgrade(acting: Acting, act: NoteUpgrade) -> Receipt:
    """A store of an earlier version was brought to this one; the entry stands in the new file alone."""
    facts: dict[str, Json] = {
        "before": act.before,
        "now": act.now,
        "entries": act.entries,
        "root": act.root,
        "kept_as": act.kept_as,
    }
    acting.write("site.upgraded", f"site/{acting.site.ledger}", facts=facts)
    return Receipt((f"The store has version {act.now} now; it had {act.before}.",), facts)


def note_restored(site: Site, name: str, sha256: str, entries: int, root: str) -> int:
    """The first entry of a site put back from a backup: a second history of the same ledger shows by it."""
    who = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
    with one_line_for_disk_faults(), site.store.writing() as tx:
        return Acting(site, tx, (who,), site.clock()).write(
            "site.restored",
            f"site/{site.ledger}",
            facts={"name": name, "sha256": sha256, "entries": entries, "root": root},
            actor=PROGRAM,
        )
