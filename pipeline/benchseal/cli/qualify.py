"""Qualification: the tests of this installation, signing them, and what is on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.cli import show
from benchseal.cli.opened import admitted, file_bytes, reading, site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acts_qualification import SignQualification
from benchseal.desk.perform import perform, require_able
from benchseal.desk.periodic import changes_after
from benchseal.desk.qualification import (
    FIGURES,
    differences,
    qualification_record,
    qualified,
    signed_qualifications,
)
from benchseal.problems import EXIT_DONE, EXIT_FINDING, Finding
from benchseal.records.shape import plain_of, record_bytes, record_digest

if TYPE_CHECKING:
    from argparse import Namespace
    from pathlib import Path

    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.records.qualification import Qualification, QualificationTest
    from benchseal.store.protocol import Row
    from benchseal.store.sqlite import SqliteReading
    from benchseal.upkeep.operation import Tried


def iq(args: Namespace) -> int:
    """The installation."""
    return _tested(args, "", "iq")


def oq(args: Namespace) -> int:
    """The operation."""
    return _tested(args, "", "oq")


def pq(args: Namespace) -> int:
    """The laboratory's own examples."""
    return _tested(args, args.file, "pq")


def whole(args: Namespace) -> int:
    """Everything, with the figures that are signed."""
    return _tested(args, args.pq, *_parts(args.pq))


def sign(args: Namespace) -> int:
    """Everything again, then both sign what came out."""
    with site_of(args) as site:
        given = credentials(args, site, 2)
        require_able(site, SignQualification, *given)  # before a minute of tests
        record = record_bytes(_made(site, args.pq, *_parts(args.pq)))
        return show.receipt(args, perform(site, SignQualification(record, args.list, args.comment), *given))


def shown(args: Namespace) -> int:
    """What is signed, and what changed since the last one of the version in use."""
    from benchseal.upkeep.installation import installed  # noqa: PLC0415  reads every file of the program

    with reading(args) as (_, view):
        rows = signed_qualifications(view)
        last = qualified(view)
        now = installed()
        changed: list[str] = []
        if last is not None:
            record = qualification_record(view, last)
            changed = [*differences(record.installation, now), *_changed_records(view, last)]
        if args.out and rows:
            write_file(args.out, record_bytes(qualification_record(view, rows[-1])))
        said = [line for row in rows for line in _row_lines(view, row)]
    findings = []
    if last is None:
        what = "no qualification of it is signed that did not fail."
        findings.append(
            Finding("doctor.qualification", f"benchseal {__version__}", what, "Run `benchseal qualify all`.")
        )
    said += [f"in use: benchseal {now.program}, {now.python}, {now.system}, installation {now.figures[:FIGURES]}"]
    said += ["changed since:", *(f"  {line}" for line in changed or ["nothing"])] if last is not None else []
    said += [str(finding) for finding in findings]
    code = EXIT_FINDING if findings else EXIT_DONE
    if args.json:
        data: dict[str, Json] = {
            "qualifications": [dict(row) for row in rows],
            "program": now.program,
            "installation": now.figures,
            "changed": [*changed],
        }
        show.as_json(args, data, findings, code)
        return code
    return show.lines(args, said) or code


def _tested(args: Namespace, own: str, *parts: str) -> int:
    with site_of(args) as site:
        admitted(args, site)
        made = _made(site, own, *parts)
    if getattr(args, "out", ""):
        write_file(args.out, record_bytes(made))
    findings = [_finding(one) for one in made.tests if one.outcome == "failed"]
    code = EXIT_FINDING if findings else EXIT_DONE
    figures = record_digest(made)[:FIGURES] if "iq" in parts and "oq" in parts else ""
    if args.json:
        plain = plain_of(made)
        installation = {**plain_of(made.installation), "files": len(made.installation.files)}
        data = {"verdict": made.verdict, "installation": installation, "tests": plain["tests"], "list": figures}
        show.as_json(args, data, findings, code)
        return code
    counted = [sum(one.outcome == word for one in made.tests) for word in ("passed", "failed", "left out")]
    installed = made.installation
    said = [
        f"benchseal {installed.program}, calculation rules {installed.calculation_rules}, {installed.python}",
        f"{installed.system}, {len(installed.files)} files, {len(installed.packages)} libraries; installation "
        + installed.figures[:FIGURES],
        *(_test_line(one) for one in made.tests),
        f"{made.verdict}: {len(made.tests)} tests, {counted[0]} passed, {counted[1]} failed, {counted[2]} left out",
    ]
    return show.lines(args, [*said, f"list {figures}"] if figures else said) or code


def _made(site: Site, own: str, *parts: str) -> Qualification:
    from benchseal.upkeep.qualify import own_examples, qualification_of  # noqa: PLC0415  draws in the whole program

    examples = own_examples(file_bytes(own), own) if own else ()
    return qualification_of(site, try_out, examples, *parts)


def try_out(folder: Path) -> Tried:
    """The invented laboratory of the demonstration, taken the whole way; it says nothing meanwhile."""
    from benchseal.demo.play import play  # noqa: PLC0415

    return play(folder, lambda _: None)


def _parts(own: str) -> tuple[str, ...]:
    return ("iq", "oq", "pq") if own else ("iq", "oq")


def _finding(test: QualificationTest) -> Finding:
    return Finding("qualify.failed", test.id, test.why, "Do not use this installation for results; find out why first.")


def _test_line(test: QualificationTest) -> str:
    why = f" ({test.why})" if test.why else ""
    return f"{test.outcome:<8}  {test.part}, {test.id}: {test.asks}; due {test.expected}; found {test.found}{why}"


def _row_lines(view: SqliteReading, row: Row) -> list[str]:
    record = qualification_record(view, row)
    counted = {word: sum(one.outcome == word for one in record.tests) for word in ("passed", "failed", "left out")}
    words = ", ".join(f"{count} {word}" for word, count in counted.items())
    by = f"performed by {row['performed_by']}, approved by {row['approved_by']}"
    installation = f"installation {row['installation'][:FIGURES]}"
    return [
        f"{row['at']}  benchseal {row['program']}: {row['verdict']} ({words}), {installation}",
        f"  {by}; qualification/{row['record'][:16]}",
        *(f"  {one.outcome}: {one.id}: {one.why}" for one in record.tests if one.outcome != "passed"),
    ]


def _changed_records(view: SqliteReading, last: Row) -> list[str]:
    return [f"{one['at']}  {one['kind']}  {one['subject']}" for one in changes_after(view, int(last["seq"]))]
