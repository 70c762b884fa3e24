"""A first draft of a reading layout, from a file nobody has described."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import write_file
from benchseal.desk.arriving import read_arriving
from benchseal.problems import Problem, Stopped
from benchseal.records.run import DocumentRef
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.ingest.accounting import Accounted
    from benchseal.records.layout import Layout

_NO_VERSION = "0" * 64


def propose(args: Namespace) -> int:
    """Write the draft and its picture, and say what is still open. Exit 0: a draft is there, however much is open."""
    from benchseal.ingest.draft import proposed  # noqa: PLC0415
    from benchseal.ingest.draft_text import draft_yaml  # noqa: PLC0415
    from benchseal.ingest.picture import picture_html, picture_text  # noqa: PLC0415

    _free(args.out, args.picture)
    if args.picture and Path(args.picture).resolve() == Path(args.out).resolve():
        what = "the draft and its picture would be one file."
        raise Stopped(Problem("layout.draft-there", args.picture, what, "Give the picture another name."))
    name, data = args.files[0], read_arriving(Path(args.files[0]))
    draft = proposed(data, Path(name).name, _identifier(args.out))
    if isinstance(draft, tuple):
        raise Stopped(*draft)
    tried = [_tried(each, data if each == name else read_arriving(Path(each)), draft.layout) for each in args.files]
    unread = [line for line in tried[0].lines if line.role == "no place"]
    write_file(args.out, draft_yaml(draft, Path(name).name, unread).encode())
    if args.picture:
        _free(args.picture)  # where names differ by large and small letters only, it may be the draft by now
        write_file(args.picture, picture_html(tried[0], f"{Path(name).name}, by a draft").encode())
    sure = sum(known for known, _ in draft.remarks.values())
    check = len(draft.remarks) - sure
    said = list(picture_text(tried[0]))
    said += [f"open: {what}" for what in draft.open]
    said += [_count(each, one) for each, one in zip(args.files, tried, strict=True)]
    said.append(f"{args.out}: {sure} guesses sure, {check} to check. Look, correct, then `benchseal layout try`.")
    files = [{"file": each, **_told(one)} for each, one in zip(args.files, tried, strict=True)]
    told = {"draft": args.out, "sure": sure, "please_check": check, "open": draft.open, "files": files}
    return show.lines(args, [show.one_line(line) for line in said], told)


def _tried(name: str, data: bytes, layout: Layout) -> Accounted:
    from benchseal.ingest.accounting import accounted  # noqa: PLC0415

    return accounted(data, Path(name).name, layout, DocumentRef(layout.id, 0, _NO_VERSION))


def _told(one: Accounted) -> dict[str, object]:
    return {
        "no_place": [line.number for line in one.lines if line.role == "no place"],
        "readings": sum(len(each.readings.signal) for each in one.documents),
        "problems": [plain_of(each) for each in one.problems],
    }


def _count(name: str, one: Accounted) -> str:
    lost = sum(line.role == "no place" for line in one.lines)
    readings = sum(len(each.readings.signal) for each in one.documents)
    lines, problems = show.some(lost, "line"), show.some(len(one.problems), "problem")
    return f"{name}: {show.some(readings, 'reading')}, {lines} without a place, {problems}"


def _identifier(out: str) -> str:
    """The file's name as an identifier."""
    return re.sub("[^a-z0-9.-]+", "-", Path(out).stem.lower()).strip("-.")[:64] or "draft"


def _free(*names: str | None) -> None:
    """Nothing that is there is written over: somebody may have worked on it."""
    there = [name for name in names if name and Path(name).exists()]
    if there:
        what = "a file of this name is there already."
        raise Stopped(*(Problem("layout.draft-there", each, what, "Name another one, or move it.") for each in there))
