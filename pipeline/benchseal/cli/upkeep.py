"""Operations: backup, restore, and what is amiss."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.cli import show
from benchseal.cli.opened import admitted, replace_file, site_of
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acts_upkeep import NoteBackup, NoteBackupTest
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform, require_able
from benchseal.problems import EXIT_DONE, EXIT_FINDING, EXIT_INTEGRITY, Finding, Refusal, Stopped
from benchseal.records.people import Role

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.desk.site import Site
    from benchseal.upkeep.restore import Contents


def make(args: Namespace) -> int:
    """Write a backup and put on record that it was made."""
    from benchseal.upkeep.backup import make_backup  # noqa: PLC0415

    with site_of(args) as site:
        given = credentials(args, site)
        require_able(site, NoteBackup, *given)  # before anything is written
        made = make_backup(site, Path(args.file))
        name = Path(args.file).name
        done = perform(site, NoteBackup(name, made.sha256, made.size, made.entries, made.root), *given)
        return show.receipt(args, done)


def test(args: Namespace) -> int:
    """Restore a backup elsewhere, verify it whole, compare it with the ledger of this site, and note it."""
    from benchseal.upkeep.backup import digest_of  # noqa: PLC0415
    from benchseal.upkeep.restore import unpacked  # noqa: PLC0415

    backup = Path(args.file)
    with site_of(args) as site:
        given = credentials(args, site)
        require_able(site, NoteBackupTest, *given)
        with unpacked(backup) as (again, contents):
            findings = (*verify_site(again).findings, *_compared(site, contents))
        act = NoteBackupTest(backup.name, digest_of(backup), contents.entries, contents.root, len(findings))
        done = perform(site, act, *given)
    code = EXIT_INTEGRITY if findings else EXIT_DONE
    if args.json:
        show.as_json(args, {**done.data, "said": list(done.said)}, findings, code)
        return code
    for finding in findings:
        print(show.one_line(str(finding)), file=sys.stderr)
    return show.receipt(args, done) or code


def restore(args: Namespace) -> int:
    """Put a backup where nothing was before, and verify it there."""
    from benchseal.desk.backups import note_restored  # noqa: PLC0415
    from benchseal.desk.site import open_site  # noqa: PLC0415
    from benchseal.upkeep.backup import digest_of  # noqa: PLC0415
    from benchseal.upkeep.restore import restore as put_back  # noqa: PLC0415

    backup, folder = Path(args.file), Path(args.folder)
    contents = put_back(backup, folder)
    site = open_site(folder)
    try:
        findings = verify_site(site).findings
        note_restored(site, backup.name, digest_of(backup), contents.entries, contents.root)
    finally:
        site.store.close()
    code = EXIT_INTEGRITY if findings else EXIT_DONE
    said = [
        f"{contents.entries} entries, as of {contents.at}, are put back in {folder}.",
        "No backup holds the keys: put the private folder back from safe keeping before anything is released.",
        "What was entered after that moment is not here. Stop using the old site, if any of it is left.",
    ]
    if args.json:
        data = {"entries": contents.entries, "root": contents.root, "at": contents.at, "folder": str(folder)}
        show.as_json(args, data, findings, code)
        return code
    for finding in findings:
        print(show.one_line(str(finding)), file=sys.stderr)
    return show.lines(args, said) or code


def doctor(args: Namespace) -> int:
    """Everything that is amiss, a line each."""
    from benchseal.upkeep.doctor import examine  # noqa: PLC0415

    with site_of(args) as site:
        admitted(args, site)
        findings = examine(site)
    code = EXIT_FINDING if findings else EXIT_DONE
    if args.json:
        show.as_json(args, {"findings": len(findings)}, findings, code)
        return code
    said = [show.one_line(str(finding)) for finding in findings] or ["Nothing is amiss."]
    return show.lines(args, said) or code


def status(args: Namespace) -> int:
    """One line for monitoring."""
    from benchseal.upkeep.metrics import BEGINS, exposition  # noqa: PLC0415
    from benchseal.upkeep.status import status as looked  # noqa: PLC0415

    with site_of(args) as site:
        admitted(args, site)
        found = looked(site)
        if args.prometheus:
            text = exposition(found, site.ledger, __version__, site.clock())
            replace_file(args.prometheus, text.encode(), BEGINS)
    code = EXIT_FINDING if found.findings else EXIT_DONE
    if args.json:
        data = {name: getattr(found, name) for name in found.__dataclass_fields__ if name != "findings"}
        show.as_json(args, data, found.findings, code)
        return code
    return show.lines(args, [found.line]) or code


def _compared(site: Site, contents: Contents) -> tuple[Finding, ...]:
    """The backup is a beginning of this site's ledger."""
    from benchseal.ledger.tree import tree_root  # noqa: PLC0415

    where = f"backup of {contents.at}"
    with site.store.reading() as view:
        size = view.size()
        root = tree_root(contents.entries, view).hex() if contents.entries <= size else ""
    if contents.ledger != site.ledger:
        what = f"it is of ledger {contents.ledger}, this site is {site.ledger}."
        return (Finding("backup.other-ledger", where, what, "Name the site it was made of."),)
    if contents.entries > size:
        what = f"it holds {contents.entries} entries, this site has {size}."
        remedy = "This site was put back or its end was cut off. Stop work and keep both."
        return (Finding("integrity.tail-missing", where, what, remedy),)
    if root != contents.root:
        what = f"the first {contents.entries} entries of this site are not those of the backup."
        return (Finding("integrity.root", where, what, "History was rewritten. Stop work and keep both."),)
    return ()


def copy(args: Namespace) -> int:
    """An inspection copy into a new folder."""
    from benchseal.desk.inspection import Asked  # noqa: PLC0415
    from benchseal.upkeep.copying import make_copy  # noqa: PLC0415

    asked = Asked(tuple(args.run), tuple(args.certificate), tuple(args.lot), args.for_authority)
    with site_of(args) as site:
        who = admitted(args, site)
        if who.roles <= {Role.SERVICE}:
            what = f"{who.person} is a service identity."
            raise Stopped(Refusal("act.role", "copy", what, "A person makes copies."))
        made = make_copy(site, asked, Path(args.out))
    said = [
        f"{args.out} holds {show.some(made.files, 'file')} and {show.some(made.entries, 'entry')}.",
        f"Left out as other customers': {made.withheld}." if made.withheld else "Nothing was left out.",
        f"Check it with `benchseal verify --copy {args.out} --trust FILE`; README.txt in it says how else.",
    ]
    data = {"folder": args.out, "files": made.files, "entries": made.entries, "withheld": made.withheld}
    return show.lines(args, said, {**data, "manifest_sha256": made.sha256})
