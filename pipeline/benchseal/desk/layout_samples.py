"""Files kept with a reading layout, each with what is to be read from it: a later version must read the same.

What counts are the facts, solutions, readings and printed means of each run, with their lines and columns; the
version that reads them does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.reading import load
from benchseal.documents.layout_guards import lost_guards, open_ends
from benchseal.ingest.joining import placed
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.records.layout import Layout
from benchseal.records.run import DocumentRef
from benchseal.records.said import some, some_are
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_documents import AddLayoutSample
    from benchseal.records.canonical import Json
    from benchseal.records.run import RunDocument
    from benchseal.store.protocol import Reading, Row

_COMPARED = ("facts", "solutions", "readings", "means")
_LONGEST, _SHOWN = 40, 80  # signs of a value, of a pattern
_BLANKS = (
    "Its cells are told by blanks alone: a blank in a name and a missing value in the same row are seen only where the "
    "table is printed in columns. Prefer an export with a separator, or with the kind behind the name."
)


@dataclass(frozen=True, slots=True)
class Replayed:
    """One sample read by one version. differs: where it reads otherwise, in words; empty where it does not."""

    name: str
    sha256: str
    runs: int
    differs: tuple[str, ...]


def add_sample(acting: Acting, act: AddLayoutSample) -> Receipt:
    """Keep a file with its reading by the latest version. Raises Stopped where that version refuses the file."""
    row = layout_named(acting.tx, act.id)
    documents = read_file(act.data, act.source, load(acting.tx, Layout, row["value"]), _ref(row), act.parts)
    if not documents or isinstance(documents[0], Problem):
        raise Stopped(*(placed(each, act.source, act.parts) for each in documents if isinstance(each, Problem)))
    runs = documents
    raw, expected = acting.tx.keep(act.data), acting.tx.keep(canonical_bytes(expected_of(runs)))
    before = acting.tx.row("layout_sample", id=row["id"], sha256=raw)
    if before is not None and before["expected"] == expected:
        what = "it is kept with exactly this reading."
        raise Stopped(Refusal("layout.sample-known", act.source, what, "Nothing needs to be done."))
    if before is not None and not act.reason.strip():
        what = f"it is kept as {before['name']}, and version {row['version']} reads it otherwise."
        remedy = (
            "Look with `benchseal layout test`, mend the layout, or say with --reason why the new reading is right."
        )
        raise Stopped(Refusal("layout.sample-reason", act.source, what, remedy))
    acting.write(
        "layout.sampled",
        f"document/layout/{row['id']}",
        facts={"id": row["id"], "version": int(row["version"]), "name": act.source, "runs": len(runs)},
        digests={"raw": raw, "expected": expected},
        reason=act.reason.strip(),
    )
    count = sum(len(run.readings.signal) for run in runs)
    said = (
        f"{act.source} is kept with layout {row['id']}: {some(len(runs), 'run')}, {some(count, 'reading')}.",
        "A later version is approved only if it reads the same.",
    )
    data: dict[str, Json] = {"layout": row["id"], "version": int(row["version"]), "runs": len(runs), "readings": count}
    return Receipt(said, data | ({"one_run_of": [part.name for part in act.parts]} if act.parts else {}))


def replayed(view: Reading, row: Row) -> list[Replayed]:
    """Every file kept with a layout, read by the version in ``row``."""
    layout = load(view, Layout, row["value"])
    return [_replayed(view, sample, layout, _ref(row)) for sample in view.rows("layout_sample", id=row["id"])]


def samples_differ(view: Reading, row: Row) -> list[Refusal]:
    """Why a version is not approved: the files it reads otherwise than they are to be read."""
    remedy = "Mend the layout, or confirm the new reading with `benchseal layout sample` and a reason."
    return [
        Refusal("layout.sample-differs", f"layout {row['id']}, version {row['version']}, {one.name}", said, remedy)
        for one in replayed(view, row)
        for said in one.differs[:1]
    ]


def meanings_lost(view: Reading, row: Row, in_force: Row | None) -> list[Refusal]:
    """Why a layout is not approved unseen: what the version in force reads, or compares, and this one passes over.

    No kept file need hold the case: a dilution that is not read any more makes a result too small by its factor, and
    a file cut off is read once nothing counts its readings.
    """
    if in_force is None:
        return []
    before, now = (load(view, Layout, one["value"]) for one in (in_force, row))
    where = f"layout {row['id']}, version {row['version']}"
    remedy = f"Look with `benchseal document compare layout/{row['id']}`; where it is meant, approve with --seen."
    return [Refusal("layout.meaning-lost", where, said, remedy) for said in lost_guards(before, now)]


def limits_of(value: object) -> tuple[str, ...]:
    """What whoever approves a layout should know that no rule can see; nothing for other documents."""
    if not isinstance(value, Layout):
        return ()
    said = tuple(
        f"Its line '{pattern[:_SHOWN]}' passes over whatever stands behind {fact}, another one too: write the rest of "
        "the line as the instrument writes it."
        for pattern, fact in open_ends(value)
    )
    means = [column.means for column in value.table.columns]
    behind = means[means.index("label") + 1 :][:1] if "label" in means else []
    by_blanks = value.file.separator.endswith("blanks") and not value.table.transposed and behind != ["kind"]
    return (*said, _BLANKS) if by_blanks else said


def layout_named(view: Reading, named: str) -> Row:
    """A version of a layout given as ``ID`` (the latest), ``ID@VERSION``, with or without ``layout/``. Stopped."""
    identifier, _, version = named.removeprefix("layout/").partition("@")
    rows = view.rows("document", kind="layout", id=identifier)
    found = [row for row in rows if not version or str(row["version"]) == version]
    if not found:
        what = "there is no such reading layout, or no such version."
        raise Stopped(Refusal("layout.unknown", named, what, "See `benchseal document list`."))
    return max(found, key=lambda row: int(row["version"]))


def expected_of(runs: tuple[RunDocument, ...]) -> Json:
    """What is to be read from a file, whichever version reads it."""
    told = [{name: value for name, value in plain_of(run).items() if name in _COMPARED} for run in runs]
    return {"schema": "layout-sample/1", "runs": as_json(told)}


def _replayed(view: Reading, sample: Row, layout: Layout, ref: DocumentRef) -> Replayed:
    documents = read_file(view.bytes_of(sample["sha256"]), sample["name"], layout, ref)
    expected = cast("dict[str, Any]", parse_canonical(view.bytes_of(sample["expected"])))
    if not documents or isinstance(documents[0], Problem):
        said = tuple(f"it is refused: {each.where}: {each.what}" for each in documents if isinstance(each, Problem))
        return Replayed(sample["name"], sample["sha256"], len(expected["runs"]), said)
    now = cast("dict[str, Any]", expected_of(documents))
    return Replayed(
        sample["name"], sample["sha256"], len(now["runs"]), tuple(_differences(expected["runs"], now["runs"]))
    )


def _differences(due: list[dict[str, Any]], found: list[dict[str, Any]]) -> Iterator[str]:
    """Column by column, the first place of each where it differs."""
    if len(due) != len(found):
        yield f"{some_are(len(due), 'run')} due, it reads {len(found)}."
    for number, (one, other) in enumerate(zip(due, found, strict=False), start=1):
        for part in _COMPARED:
            for name in sorted({*one[part], *other[part]}):
                was, now = one[part].get(name), other[part].get(name)
                if was != now:
                    yield f"run {number}, {part}, {name}: {_first(was, now)}"


def _first(was: object, now: object) -> str:
    if isinstance(was, list) and isinstance(now, list):
        if len(was) != len(now):
            return f"{len(was)} due, {len(now)} read."
        place = next(at for at, (one, other) in enumerate(zip(was, now, strict=True)) if one != other)
        return f"item {place + 1}: {_short(was[place])} due, {_short(now[place])} read."
    return f"{_short(was)} due, {_short(now)} read."


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _ref(row: Row) -> DocumentRef:
    return DocumentRef(row["id"], int(row["version"]), row["value"])
