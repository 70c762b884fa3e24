"""What belongs in an inspection copy: entries, objects, raw files and certificates of what was asked for.

Asked for by certificate or lot, a copy is of one customer: what holds another customer's names or samples is left out
and stands there as a digest, an entry as its leaf. Asked for by run, or for an authority (``whole``), everything of it
is in clear. Private tables are never looked at.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING, Any

from benchseal.desk.changed import corrected_of
from benchseal.desk.reading import all_entries
from benchseal.desk.trail import of_lot
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.canonical import parse_canonical
from benchseal.records.entries import entry_body

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.entries import Entry
    from benchseal.store.sqlite import SqliteReading

_OF_RUN = ("raw", "document", "bound", "work")  # whole files and whole runs: the samples of everybody in them
_ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "latin-1")
_SHORTEST = 2  # signs of a word worth looking for


@dataclass(frozen=True, slots=True)
class Asked:
    """What a copy is asked for. whole: other customers' samples in the same runs in clear, for an authority."""

    runs: tuple[str, ...] = ()
    certificates: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Gathered:
    """entries: of the subjects, oldest first. shown: bytes of objects by digest. hidden_*: left out, and why."""

    samples: tuple[str, ...]
    entries: tuple[Entry, ...]
    shown: dict[str, bytes]
    hidden_entries: tuple[int, ...] = ()
    hidden_objects: dict[str, str] = field(default_factory=dict)


def gather(view: SqliteReading, asked: Asked) -> Gathered:
    """Everything on record about what was asked for. Raises Stopped where something asked for is not known."""
    subjects, samples, clear_runs = _subjects(view, asked)
    actors = {entry.actor for entry in all_entries(view) if entry.subject in subjects}
    subjects |= {f"person/{person}" for person in actors}
    entries = tuple(
        entry
        for entry in all_entries(view)
        if entry.subject in subjects or entry.subject.startswith("key/") or entry.kind == "site.founded"
    )
    words = set[str]() if asked.whole else _words_of_others(view, samples, clear_runs)
    mixed = set[str]() if asked.whole else _mixed(view, samples) - clear_runs
    shown: dict[str, bytes] = {}
    hidden: dict[str, str] = {}
    for entry in entries:
        for label, name in entry.digests.items():
            if name in shown or name in hidden:
                continue
            data = view.bytes_of(name)
            if label in _OF_RUN and entry.subject.removeprefix("run/") in mixed:
                hidden[name] = f"{label} of {entry.subject}: it holds samples of other customers"
            elif _holds(data, words):
                hidden[name] = f"{label} of {entry.subject}: it names other customers or their samples"
            else:
                shown[name] = data
    bodies = tuple(entry.seq for entry in entries if words and _holds(entry_body(entry), words))
    return Gathered(tuple(sorted(samples)), entries, shown, bodies, hidden)


def _subjects(view: SqliteReading, asked: Asked) -> tuple[set[str], set[str], set[str]]:
    """Subjects of entries, samples they are about, and the runs that were asked for by their own number."""
    if not (asked.runs or asked.certificates or asked.lots):
        what = "neither a run nor a certificate nor a lot is named."
        raise Stopped(Problem("copy.nothing", "copy", what, "Name at least one: --run, --certificate or --lot."))
    subjects: set[str] = set()
    samples: set[str] = set()
    runs = set(asked.runs)
    for lot in asked.lots:
        sample, entries = of_lot(view, lot)
        samples.add(sample)
        subjects |= {entry.subject for entry in entries}
    for number in asked.certificates:
        row = view.row("certificate", number=number)
        if row is None:
            raise Stopped(_unknown("certificate", number))
        subjects.add(f"certificate/{number}")
        samples.add(row["sample"])
        subjects |= {f"run/{one['run']}" for one in view.rows("certificate_run", number=number)}
        subjects |= _portions(view, row["sample"])
    for run in asked.runs:
        if view.row("run", run=run) is None:
            raise Stopped(_unknown("run", run))
        subjects.add(f"run/{run}")
        for sample in _samples_of(view, run):
            samples.add(sample)
            subjects |= _portions(view, sample)
    subjects |= {f"sample/{sample}" for sample in samples}
    subjects |= {f"opinion/{row['opinion']}" for sample in samples for row in view.rows("opinion", sample=sample)}
    return subjects | _around(view, subjects, samples), samples, runs


def _around(view: SqliteReading, subjects: set[str], samples: set[str]) -> set[str]:
    """Documents, instruments, standard lots and customers that the subjects rest on."""
    found: set[str] = set()
    for subject in subjects:
        kind, _, name = subject.partition("/")
        row = view.row("run", run=name) if kind == "run" else None
        if row is not None:
            found |= {f"document/method/{row['method']}", f"instrument/{row['instrument']}"}
            for one in view.rows("calculation", run=name):
                found |= {f"standard/{one[lot]}" for lot in ("lot", "second_lot") if one[lot]}
    for sample in samples:
        one = view.row("sample", sample=sample) or {}
        found |= {f"document/specification/{one.get('specification')}", f"customer/{one.get('customer')}"}
    return found


def _portions(view: SqliteReading, sample: str) -> set[str]:
    return {f"portion/{row['batch']}/{row['portion']}" for row in view.rows("portion", sample=sample)}


def _samples_of(view: SqliteReading, run: str) -> set[str]:
    """Registered samples read in a run."""
    portions = view.rows("run_portion", run=run)
    rows = (view.row("portion", batch=one["batch"], portion=one["portion"]) for one in portions)
    return {row["sample"] for row in rows if row and row["sample"]}


def _customers(view: SqliteReading, samples: Iterable[str]) -> set[str]:
    rows = (view.row("sample", sample=sample) for sample in samples)
    return {row["customer"] for row in rows if row}


def _mixed(view: SqliteReading, samples: set[str]) -> set[str]:
    """Runs whose raw file holds a sample of a customer the copy is not for."""
    own = _customers(view, samples)
    by_file: dict[str, set[str]] = {}
    runs = view.rows("run")
    for row in runs:
        by_file.setdefault(row["source_sha256"], set()).update(_customers(view, _samples_of(view, row["run"])))
    return {row["run"] for row in runs if by_file[row["source_sha256"]] - own}


def _words_of_others(view: SqliteReading, samples: set[str], clear_runs: set[str]) -> set[str]:
    """Names by which another customer or a sample of theirs would be known."""
    clear = samples | {sample for run in clear_runs for sample in _samples_of(view, run)}
    own, others = _customers(view, clear), set[str]()
    ours: set[str] = set()
    for row in view.rows("sample"):
        record: Any = parse_canonical(view.bytes_of(row["record"]))
        words = {str(value) for key, value in record.get("row", {}).items() if key in _TELLING}
        words |= {row["sample"], row["lot"], row["product"], row["customer"]}
        words |= {one["portion"] for one in view.rows("portion", sample=row["sample"])}
        (ours if row["customer"] in own else others).update(words)
    for row in view.rows("customer"):
        record = parse_canonical(view.bytes_of(row["record"]))
        words = {row["customer"], row["name"], *(str(record.get(key, "")) for key in _NAMING)}
        once = corrected_of(view, [f"customer/{row['customer']}"])
        words |= {one.old for one in once if one.name in _NAMING}
        (ours if row["customer"] in own else others).update(words)
    return {word for word in others - ours if len(word) >= _SHORTEST}


_NAMING = ("name", "contact")
_TELLING = ("customer_sample_id", "order", "lot", "sample")


def _holds(data: bytes, words: set[str]) -> bool:
    """Whether one of the words stands in the bytes as a word, in any of the usual encodings. Leans to yes."""
    if not words:
        return False
    data = _readable(data) if data.startswith(b"%PDF") else data
    pattern = re.compile(
        r"(?<![0-9A-Za-z])(?:" + "|".join(re.escape(word) for word in sorted(words)) + r")(?![0-9A-Za-z])"
    )
    return any(pattern.search(data.decode(encoding, "replace")) for encoding in _ENCODINGS)


def _readable(pdf: bytes) -> bytes:
    """What a reader of a sealed file finds: its pages and attachments. Its packed bytes hold short words by chance."""
    import pikepdf  # noqa: PLC0415  heavy, and only for copies with certificates

    from benchseal.certificate.page_text import page_texts  # noqa: PLC0415

    with pikepdf.open(BytesIO(pdf)) as opened:
        attached = [spec.get_file().read_bytes() for spec in opened.attachments.values()]
        return b"\n".join((*(text.encode() for text in page_texts(opened)), *attached))


def _unknown(kind: str, name: str) -> Refusal:
    return Refusal("copy.unknown", name, f"no {kind} has this number.", f"See `benchseal {kind} list`.")
