"""Reading layouts: a file beside what a layout makes of it, and the files kept with a layout."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.files_in import instrument_file
from benchseal.cli.opened import do, file_bytes, reading
from benchseal.desk.arriving import read_arriving
from benchseal.problems import EXIT_FINDING, EXIT_INPUT, Problem, Stopped
from benchseal.records.run import DocumentRef
from benchseal.records.said import some_are
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from benchseal.desk.surveys import Unread
    from benchseal.ingest.accounting import Accounted
    from benchseal.ingest.joining import Part
    from benchseal.records.layout import Layout
    from benchseal.store.protocol import Reading

_LARGEST_LAYOUT = 1024 * 1024
_MOST_MEANS = 3  # each by itself; more are one fault of the layout
_MEANS = (
    "Where most means differ, the layout leaves out a column of readings, or takes one for another thing than it is; "
    "else lines are missing or mixed: export the file again."
)
_TEXT = 60  # signs of a line shown beside what it says


def try_out(args: Namespace) -> int:
    """Each file, line by line, with what each line was taken for and what was read from it."""
    from benchseal.ingest.accounting import accounted  # noqa: PLC0415
    from benchseal.ingest.joining import placed  # noqa: PLC0415
    from benchseal.ingest.reader import unopened  # noqa: PLC0415

    layout, ref = _layout(args)
    named = list(_named(args))
    found = [(name, _with_means(accounted(data, name, layout, ref))) for name, data, _ in named]
    problems = [
        placed(each, name, parts)
        for (name, _, parts), (_, one) in zip(named, found, strict=True)
        for each in (*unopened(parts, layout), *one.problems)
    ]
    if args.json:
        data = {"layout": plain_of(ref), "files": [_told(name, one) for name, one in found]}
        show.as_json(args, data, problems, EXIT_INPUT if problems else 0)
        return EXIT_INPUT if problems else 0
    for name, one in found if not args.quiet else ():
        print(show.one_line(f"{name}, by layout {ref.id}"))
        for line in _lines(one, layout):
            print(show.one_line(line))
    show.notices(args, problems)
    return EXIT_INPUT if problems else 0


def _with_means(one: Accounted) -> Accounted:
    """The file with the printed means that cannot come from the readings the layout takes; rules of a method wait."""
    from benchseal.validate.solutions import mean_problems  # noqa: PLC0415

    means = [replace(each, remedy=_MEANS) for document in one.documents for each in mean_problems(document)]
    if len(means) > _MOST_MEANS:
        what = f"{len(means)} printed means do not come from the readings that are read; the first: {means[0].what}"
        means = [replace(means[0], what=what)]
    return replace(one, problems=(*one.problems, *means))


def sample(args: Namespace) -> int:
    """Keep a file with a layout."""
    from benchseal.desk.acts_documents import AddLayoutSample  # noqa: PLC0415

    data, source, parts = instrument_file(args.files)
    if parts and not (args.json or args.quiet):
        print(show.one_line(f"Read as one run, in this order: {', '.join(part.name for part in parts)}."))
    return do(args, AddLayoutSample(args.layout, data, source, args.reason, parts))


def test(args: Namespace) -> int:
    """Read every file kept with a layout again. Exit 10 where one reads otherwise."""
    from benchseal.desk.comparing import against_in_force  # noqa: PLC0415
    from benchseal.desk.layout_samples import layout_named, meanings_lost, replayed  # noqa: PLC0415

    with reading(args) as (_, view):
        row = layout_named(view, args.layout)
        found = replayed(view, row)
        lost = [each.what for each in meanings_lost(view, row, against_in_force(view, row)[1])]
    differ = [one for one in found if one.differs]
    said = [
        f"layout {row['id']}, version {row['version']} ({row['state']}): {some_are(len(found), 'file')} kept with it"
    ]
    for one in found:
        as_due = f"{show.some(one.runs, 'run')}, as due"
        said.append(f"  {one.name}: {'reads otherwise' if one.differs else as_due}")
        said += [f"    {words}" for words in one.differs]
    said += [show.one_line(f"  look at this: {what}") for what in lost]
    files = [plain_of(one) for one in found]
    show.lines(args, said, {"layout": row["id"], "version": int(row["version"]), "files": files, "lost": lost})
    return EXIT_FINDING if differ else 0


def survey(args: Namespace) -> int:
    """How many files a layout and the rules of the site would take, and every problem of the others."""
    from benchseal.desk.bench import known_at  # noqa: PLC0415
    from benchseal.desk.clock import stamp  # noqa: PLC0415
    from benchseal.desk.intake import layouts_in_force  # noqa: PLC0415
    from benchseal.desk.surveys import survey as surveyed  # noqa: PLC0415

    names = list(_all_files(args.files))
    with reading(args) as (site, view):
        layout, ref = _drafted(args) or _on_record(view, args.layout)
        as_read = replace(ref, version=max(ref.version, 1))  # a draft is taken for the first version it would be
        layouts = [(as_read, layout), *(one for one in layouts_in_force(view) if one[0].id != ref.id)]
        found = list(surveyed(_contents(names), layouts, known_at(view, stamp(site.clock()))))
    bad = [one for one in found if one.problems]
    runs = sum(one.runs for one in found)
    taken = f"{len(found) - len(bad)} would be taken, with {show.some(runs, 'run')}; {len(bad)} would be refused"
    said = [
        f"{show.some(len(found), 'file')} by layout {ref.id}: {taken}",
        *(f"  {one.name}: {show.some(len(one.problems), 'problem')}" for one in bad),
        "Nothing came in, and nothing was calculated.",
    ]
    problems = [problem for one in bad for problem in one.problems]
    code = EXIT_INPUT if problems else 0
    if args.json:
        files = [{"file": one.name, "runs": one.runs, "problems": len(one.problems)} for one in found]
        show.as_json(args, {"layout": plain_of(ref), "taken": len(found) - len(bad), "files": files}, problems, code)
        return code
    show.lines(args, said, {})
    show.notices(args, problems)
    return code


def _all_files(names: list[str]) -> Iterator[Path]:
    """Files as named, and those that lie in folders named, by name; not those in folders below. Raises Stopped."""
    for name in names:
        path = Path(name)
        if not path.is_dir():
            yield path
            continue
        try:
            yield from sorted(each for each in path.iterdir() if each.is_symlink() or not each.is_dir())
        except OSError as fault:
            raise Stopped(Problem("file.unreadable", name, f"{fault.strerror}.", "Check the rights on it.")) from None


def _contents(paths: list[Path]) -> Iterator[tuple[str, bytes | Unread]]:
    """Each file's bytes, one after the other, or why there are none."""
    from benchseal.desk.surveys import Unread  # noqa: PLC0415

    for path in paths:
        try:
            yield path.name, read_arriving(path)
        except Stopped as stopped:
            yield path.name, Unread(stopped.notices)


def _named(args: Namespace) -> Iterator[tuple[str, bytes, tuple[Part, ...]]]:
    """What is tried, its bytes and its parts: each file by its name as given, or all of them as one run."""
    if args.one_run:
        data, source, parts = instrument_file(args.files, one_run=True)
        yield source, data, parts
        return
    for name in args.files:
        yield name, read_arriving(Path(name)), ()


def _layout(args: Namespace) -> tuple[Layout, DocumentRef]:
    """From a YAML file where one is named so, else from the site. Raises Stopped."""
    if drafted := _drafted(args):
        return drafted
    with reading(args) as (_, view):
        return _on_record(view, args.layout)


def _drafted(args: Namespace) -> tuple[Layout, DocumentRef] | None:
    """From a YAML file; None where the name is not that of one. Raises Stopped."""
    from benchseal.documents.reading import read_document  # noqa: PLC0415
    from benchseal.records.canonical import digest  # noqa: PLC0415
    from benchseal.records.layout import Layout  # noqa: PLC0415

    if not Path(args.layout).is_file():
        return None
    read = read_document(file_bytes(args.layout, _LARGEST_LAYOUT), args.layout)
    if isinstance(read, tuple):
        raise Stopped(*read)
    if not isinstance(read.value, Layout):
        what = f"it is a {read.kind}."
        raise Stopped(Problem("layout.no-layout", args.layout, what, "Name a reading layout."))
    return read.value, DocumentRef(read.id, 0, digest(read.canonical))


def _on_record(view: Reading, name: str) -> tuple[Layout, DocumentRef]:
    """One that came in. Raises Stopped."""
    from benchseal.desk.layout_samples import layout_named  # noqa: PLC0415
    from benchseal.desk.reading import load  # noqa: PLC0415
    from benchseal.records.layout import Layout  # noqa: PLC0415

    row = layout_named(view, name)
    return load(view, Layout, row["value"]), DocumentRef(row["id"], int(row["version"]), row["value"])


def _lines(one: Accounted, layout: Layout) -> Iterator[str]:
    for line in one.lines:
        if line.role == "blank":
            continue
        text = line.text if len(line.text) <= _TEXT else f"{line.text[: _TEXT - 1]}…"
        yield f"{line.number:>5}  {line.role:<12}  {text}"
        if line.says:
            yield f"{'':>7}{'':<12}    -> {line.says}"
    for number, document in enumerate(one.documents, start=1):
        facts = document.facts
        yield (
            f"run {number}: {facts.element} {facts.wavelength_nm} nm, {facts.technique}, {facts.started_at}; "
            f"{show.some(len(document.solutions.position), 'solution')}, "
            f"{show.some(len(document.readings.signal), 'reading')}"
        )
    for fact in layout.stated:
        reason = f", because {fact.because}" if fact.because else ""
        yield f"stated by the layout: {fact.fact} = {fact.value}{reason}"
    lost = sum(line.role == "no place" for line in one.lines)
    yield f"{show.some(len(one.lines), 'line')}, {lost} without a place; {show.some(len(one.problems), 'problem')}"


def _told(name: str, one: Accounted) -> dict[str, object]:
    lines = [plain_of(line) for line in one.lines]
    return {"file": name, "lines": lines, "runs": [plain_of(document) for document in one.documents]}
