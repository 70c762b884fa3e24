"""Instrument files to run documents, by an approved layout: whole, or every problem with its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.ingest.counting import compare_numbers
from benchseal.ingest.facts import run_facts
from benchseal.ingest.lines import listed, of_another_encoding, opening_lines, text_lines
from benchseal.ingest.looks import no_text, packed
from benchseal.ingest.nearest import nearest
from benchseal.ingest.pages import FOLLOWS
from benchseal.ingest.parting import runs_of
from benchseal.ingest.plan import Plan, plan_of
from benchseal.ingest.regular import regular_table
from benchseal.ingest.table import Table
from benchseal.ingest.walk import EXPORT_AGAIN, Facts, Section, Walk
from benchseal.problems import Problem
from benchseal.records.canonical import Digest, digest
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.ingest.joining import Part
    from benchseal.records.layout import Layout


def recognise(
    data: bytes, layouts: Sequence[tuple[DocumentRef, Layout]], source_name: str = "file"
) -> tuple[DocumentRef, Layout] | tuple[Problem, ...]:
    """The one layout that knows this file; none, or several, are problems."""
    found = [(ref, layout) for ref, layout in layouts if _fits(data, layout)]
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(ref.id for ref, _ in found)
        what = f"More than one layout knows this file: {names}."
        return (
            Problem("ingest.layout-several", source_name, what, "Name the layout; tell them apart in a new version."),
        )
    if refused := packed(data, source_name) or no_text(data, source_name):
        return (refused,)
    names = ", ".join(ref.id for ref, _ in layouts) or "none is approved"
    what = " ".join([f"No approved layout knows this file ({names}).", *nearest(data, layouts)])
    return (
        Problem("ingest.layout-unknown", source_name, what, "Check the export form, or have a layout approved for it."),
    )


def strangers(parts: Sequence[Part], layouts: Sequence[tuple[DocumentRef, Layout]]) -> tuple[Problem, ...]:
    """Every file of one run that other layouts know than the first: it is none of that run."""
    known = [[ref.id for ref, layout in layouts if _fits(part.data, layout)] for part in parts]
    return tuple(
        Problem(
            "ingest.part-other",
            part.name,
            f"{' or '.join(ids)} reads it, and {parts[0].name} is read by {' or '.join(known[0])}: these are two runs.",
            "Name the files of one run only.",
        )
        for part, ids in zip(parts, known, strict=True)
        if ids and known[0] and not {*ids} & {*known[0]}
    )


def _fits(data: bytes, layout: Layout) -> bool:
    lines = opening_lines(data, layout)
    patterns = plan_of(layout).recognised
    return bool(patterns) and all(any(pattern.fullmatch(line) for line in lines) for pattern in patterns)


def read_file(
    data: bytes, source_name: str, layout: Layout, ref: DocumentRef, parts: Sequence[Part] = ()
) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
    """One run document for each section of the file, in order; or every problem of the file, and no document.

    parts: the files of one run, where data is theirs joined; each has to open with the heading of a page.
    """
    if apart := tuple(unopened(parts, layout)):
        return apart
    if refused := packed(data, source_name):
        return (refused,)
    lines = text_lines(data, layout.file.encoding, source_name, layout.file.printer_codes)
    if isinstance(lines, tuple):
        return lines
    if other := of_another_encoding(data, layout.file.encoding, source_name):
        return (other,)
    walk, documents = walked(lines, (source_name, digest(data), len(data)), layout, ref)
    return listed(iter(walk.problems), source_name) if walk.problems else documents


def unopened(parts: Sequence[Part], layout: Layout) -> Iterator[Problem]:
    """Files after the first that open with no heading: the rest of one file and the rest of another are no run."""
    headings = plan_of(layout).headings
    if parts and not headings:
        what = "the layout has no heading of pages, so nothing says that these files are one run."
        yield Problem("ingest.part-unopened", parts[1].name, what, "Export the run as one file, or give it `pages`.")
        return
    for part in parts[1:]:
        first = next((line for line in opening_lines(part.data, layout) if line.strip()), "")
        if headings[0].fullmatch(first) is None:
            what = f"it does not open with the heading of a page: '{first[:40]}'."
            yield Problem("ingest.part-unopened", part.name, what, "Export it again, whole; do not cut files.")


def walked(
    lines: list[str], source: tuple[str, Digest, int], layout: Layout, ref: DocumentRef
) -> tuple[Walk, tuple[RunDocument, ...]]:
    """Every line taken; what was read of them counts only where the walk has no problems."""
    plan = plan_of(layout)
    walk = Walk(plan, source[0])
    walk.read(lines)
    documents: tuple[RunDocument, ...] = ()
    for section in walk.sections:
        if section.columns:
            documents += _documents(section, plan, walk, ref, source)
    _compare_counts(walk.facts, documents, walk)
    _compare_sections(walk)
    compare_numbers(documents, layout.reading_numbers, walk.say)
    pages = [each for each in walk.problems if each.code == "ingest.page-missing"]
    if pages:
        walk.problems[:] = [*pages, *(each for each in walk.problems if each.code not in {*FOLLOWS, pages[0].code})]
    return walk, documents


def _documents(
    section: Section, plan: Plan, walk: Walk, ref: DocumentRef, source: tuple[str, Digest, int]
) -> tuple[RunDocument, ...]:
    parts = runs_of(section, plan, walk.say)
    documents = tuple(_document(part, plan, walk, ref, source) for part in parts if _holds_readings(part, walk))
    _compare_counts(section.facts, documents, walk)
    return documents


def _holds_readings(section: Section, walk: Walk) -> bool:
    """Whether names and signals have columns. A draft, or a file without a column it may leave out, can lack them."""
    if not section.columns:
        return False
    lacking = {"label", "signal"} - {column.means for column in section.columns}
    if lacking:
        what = f"No column of this table means {' or '.join(sorted(lacking))}, so nothing can be read from it."
        walk.say("ingest.section-empty", what, EXPORT_AGAIN, line=section.line)
    return not lacking


def _document(
    section: Section, plan: Plan, walk: Walk, ref: DocumentRef, source: tuple[str, Digest, int]
) -> RunDocument:
    facts = run_facts(plan, section, walk)
    tables = regular_table(plan, section, facts.started_at)
    solutions, readings, means = tables or Table(plan, section, facts.started_at, walk.say).read()
    if not solutions.position:
        walk.say("ingest.section-empty", "The section holds no solutions.", EXPORT_AGAIN, line=section.line)
    return RunDocument("run-document/1", *source, ref, facts, solutions, readings, means)


def _compare_counts(facts: Facts, documents: Sequence[RunDocument], walk: Walk) -> None:
    """What a section says of its own documents, or head and last line of all of the file."""
    counts = {
        "count_solutions": sum(len(one.solutions.position) for one in documents),
        "count_readings": sum(len(one.readings.signal) for one in documents),
    }
    for name, read in counts.items():
        _compare(facts, name, read, walk)


def _compare_sections(walk: Walk) -> None:
    for facts in (walk.facts, *(section.facts for section in walk.sections)):
        _compare(facts, "count_sections", len(walk.sections), walk)


def _compare(facts: Facts, name: str, read: int, walk: Walk) -> None:
    fact = facts.get(name)
    if fact is not None and fact.text.lstrip("0") != str(read).lstrip("0"):
        what = f"The file says it holds {fact.text[:20]} {name.removeprefix('count_')}; {read} were read."
        walk.say("ingest.count-differs", what, EXPORT_AGAIN, line=fact.line, column=fact.column)
