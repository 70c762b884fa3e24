"""``verify``: certificates from outside, a site from inside."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import file_bytes, noted, site_of
from benchseal.problems import EXIT_DONE, EXIT_INTEGRITY, Problem, Stopped
from benchseal.problems import exit_code as code_of_notices

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from benchseal.ledger.checkpoints import Checkpoint
    from benchseal.problems import Notice
    from benchseal.records.status_file import StatusFile
    from benchseal.verify.judge import Judgement
    from benchseal.verify.report import Check
    from benchseal.verify.trust import Trust


_LARGEST_STATUS = 256 * 1024 * 1024
_LARGEST_TRUST = 64 * 1024 * 1024  # a revoked key comes with everything that stays good under it


def verify(args: Namespace) -> int:
    """Check what is named."""
    if args.all and args.files:
        what = f"--all checks the site, and {', '.join(args.files)} stands beside it."
        remedy = "Write --against before it to compare the site with it, or leave --all out to check the file itself."
        raise Stopped(Problem("verify.files-beside-all", "verify --all", what, remedy))
    if args.against and not args.all:
        what = f"--against {', '.join(args.against)} compares a site, and --all is not there."
        raise Stopped(Problem("verify.against-alone", "verify", what, "Write --all too, or name the file alone."))
    if args.copy:
        if args.all or args.files:
            what = f"--copy {args.copy} stands beside {'--all' if args.all else ', '.join(args.files)}."
            raise Stopped(Problem("verify.copy-beside", "verify", what, "Check one after the other."))
        return _copy(args)
    if args.archive:
        if args.all or args.files:
            what = f"--archive {args.archive} stands beside {'--all' if args.all else ', '.join(args.files)}."
            raise Stopped(Problem("verify.copy-beside", "verify", what, "Check one after the other."))
        return _archive(args)
    if args.all:
        return _site(args)
    if not args.files:
        what = "neither a file nor --all is named."
        raise Stopped(Problem("verify.nothing", "verify", what, "Name certificates, or --all for a whole site."))
    return _files(args)


def _files(args: Namespace) -> int:
    from benchseal.cli.verify_many import Asked, judged  # noqa: PLC0415
    from benchseal.verify.judge import exit_code  # noqa: PLC0415

    trust, where = trust_of_command(args)
    status = status_of(args.status, trust) if args.status else None
    found: list[tuple[str, Judgement]] = []
    unread: list[Notice] = []
    many = len(args.files) > 1 and not args.verbose and not args.json
    for name, one in zip(args.files, judged(args.files, Asked(trust, status, args.redraw)), strict=True):
        if isinstance(one, tuple):
            unread += one
            continue
        found.append((name, one))
        if many:
            print(show.one_line(f"{one.word:<8} {name}: {one.line(args.language)}"))
    code = exit_code([one for _, one in found])
    if unread and code != EXIT_INTEGRITY:  # what is altered is never hidden by what is not there
        code = code_of_notices(tuple(unread))
    if args.json:
        listed = [{"file": name, **one.plain()} for name, one in found]
        show.as_json(args, {"trust": where, "status": args.status, "certificates": listed}, unread, code)
        return code
    for name, one in found:
        if not many or one.word != "GENUINE":
            _explain(args, name, one, where)
    if many:
        words = [one.word for _, one in found]
        print(show.one_line(_counted(words, len(args.files) - len(words), where, args.language)))
    show.spoken(args, unread)
    return code


def _explain(args: Namespace, name: str, one: Judgement, where: str) -> None:
    """Everything that is said of one file."""
    word, *lines = one.lines(args.language)
    print(word)
    stands = 0 if one.standing is None else 1
    english = args.language == "en"
    trusted = f"trust from {where}" if english else f"Vertrauen aus {_in_german(where)}"
    for line in (*lines[:stands], f"     {name}, {trusted}", *lines[stands:]):
        print(show.one_line(line))
    if one.word == "GENUINE" and not one.report.withdraws and not args.redraw:
        asked = (
            "drawn again: not asked for; --redraw does"
            if english
            else "neu gezeichnet: nicht verlangt; --redraw tut es"
        )
        print(f"     {asked}")


def _counted(words: Sequence[str], unread: int, where: str, language: str) -> str:
    """How many files have which word. unread: those that have none."""
    counts = [f"{words.count(word)} {word}" for word in ("GENUINE", "ALTERED", "UNKNOWN") if word in words]
    counts += [f"{unread} {'not read' if language == 'en' else 'nicht gelesen'}"] if unread else []
    said, files = ", ".join(counts), len(words) + unread
    if language == "en":
        return f"{files} files: {said}; trust from {where}. -v explains each."
    return f"{files} Dateien: {said}; Vertrauen aus {_in_german(where)}. -v erklärt jede."


def _in_german(where: str) -> str:
    from benchseal.verify.german import in_german  # noqa: PLC0415

    return in_german(where)


def status_of(name: str, trust: Trust | None) -> StatusFile:
    """What a laboratory says is in force. Raises Stopped where no trusted key signed it."""
    from benchseal.verify.status import read_status  # noqa: PLC0415

    found = read_status(file_bytes(name, _LARGEST_STATUS), name, trust)
    if isinstance(found, tuple):
        raise Stopped(*found)
    return found


def _copy(args: Namespace) -> int:
    from benchseal.upkeep.copying import read_copy  # noqa: PLC0415
    from benchseal.verify.copy import check_copy  # noqa: PLC0415

    trust, where = trust_of_command(args)
    return _checked(args, "copy", args.copy, where, check_copy(read_copy(Path(args.copy)), trust))


def _archive(args: Namespace) -> int:
    from benchseal.verify.archive import check_archive  # noqa: PLC0415

    trust, where = trust_of_command(args)
    return _checked(
        args, "archive", args.archive, where, check_archive(file_bytes(args.archive, _LARGEST_STATUS), trust)
    )


def _checked(args: Namespace, kind: str, name: str, where: str, checks: tuple[Check, ...]) -> int:
    """Print the checks of something that is not a single certificate; the exit code."""
    from benchseal.verify.report import EXITS, Report  # noqa: PLC0415

    word = Report(checks).word
    if args.json:
        listed = [{"name": each.name, "holds": each.holds, "said": each.said} for each in checks]
        show.as_json(args, {kind: name, "trust": where, "word": word, "checks": listed}, code=EXITS[word])
        return EXITS[word]
    print(word)
    print(show.one_line(f"     {name}, trust from {where}"))
    for each in checks:
        print(show.one_line(each.line))
    return EXITS[word]


def trust_of_command(args: Namespace) -> tuple[Trust | None, str]:
    """Trust from --trust, else BENCHSEAL_TRUST, else the site's trust.json, else none; and which."""
    name = args.trust or os.environ.get("BENCHSEAL_TRUST", "")
    if not name:
        own = Path(args.site) / "trust.json"
        if not own.is_file():
            return None, "nowhere"
        name = str(own)
    return trust_file(name), name


def trust_file(name: str) -> Trust:
    """What a laboratory handed out. Raises Stopped."""
    from benchseal.verify.judge import read_trust_file  # noqa: PLC0415

    trust = read_trust_file(file_bytes(name, _LARGEST_TRUST), name)
    if isinstance(trust, tuple):
        raise Stopped(*trust)
    return trust


def _site(args: Namespace) -> int:
    from benchseal.desk.checking import verify_site  # noqa: PLC0415

    outside = [_checkpoint(name) for name in args.against]
    with site_of(args) as site:
        noted(args, site, "", "nobody")  # it asks nobody who they are
        report = verify_site(site, outside)
    code = EXIT_INTEGRITY if report.findings else EXIT_DONE
    if args.json:
        data = {"entries": report.entries, "objects": report.objects, "root": report.root, "anchored": report.anchored}
        show.as_json(args, data, report.findings, code)
        return code
    for finding in report.findings:
        print(show.one_line(str(finding)), file=sys.stderr)
    if report.findings:
        print(f"{show.some(len(report.findings), 'finding')} in {report.entries} entries and {report.objects} objects.")
        return code
    print(f"Whole: {report.entries} entries, {report.objects} objects, root {report.root[:16]}…")
    if not report.anchored:
        print("No outside checkpoint was given, so a cut-off end cannot be ruled out.")
    return code


def _checkpoint(name: str) -> Checkpoint:
    """A checkpoint file, with a proof or a countersignature or bare, or the one an issued certificate carries."""
    from benchseal.ledger.witness import Growth, read_growth, read_seen  # noqa: PLC0415

    data = file_bytes(name)
    if data[:5] == b"%PDF-":
        from benchseal.desk.checkpoints import of_certificate  # noqa: PLC0415

        return of_certificate(data, name)
    seen = read_seen(data, name)
    if not isinstance(seen, tuple):
        return seen.checkpoint
    found = read_growth(data, name)
    if not isinstance(found, Growth):
        raise Stopped(*found)
    return found.checkpoint
