"""How long records are kept, class by class, and the oldest of each opened: nothing here removes anything.

The time counts from the last act on a record (rules of the site), and where the expiry of its lot is on record it never
ends earlier than a year beyond that (21 CFR 211.180(a)).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from benchseal.desk.clock import moment_of
from benchseal.desk.deliveries import given_up_with
from benchseal.desk.founding import trust_of
from benchseal.desk.reading import all_entries, load
from benchseal.desk.site_rules import rules_in_force
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.proofs import check_inclusion
from benchseal.ledger.tree import prove_inclusion, tree_root
from benchseal.problems import Finding
from benchseal.records.balance_layout import BalanceLayout
from benchseal.records.canonical import parse_canonical
from benchseal.records.entries import entry_body
from benchseal.records.evidence import Evidence
from benchseal.records.import_profile import ImportProfile
from benchseal.records.instrument_events import InstrumentEvent
from benchseal.records.label_form import LabelForm
from benchseal.records.layout import Layout
from benchseal.records.manifest import Manifest, Packet
from benchseal.records.method import Method
from benchseal.records.opinions import Opinion
from benchseal.records.plan import RunPlan
from benchseal.records.policy import Policy
from benchseal.records.preparation import Portion
from benchseal.records.profile import Profile
from benchseal.records.registers import Customer, Instrument, Sample, StandardLot
from benchseal.records.results import RunWork
from benchseal.records.run import Run, RunDocument
from benchseal.records.shape import read_record
from benchseal.records.site_rules import SiteRules
from benchseal.records.specification import Specification
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.site import Site
    from benchseal.records.entries import Entry
    from benchseal.store.sqlite import SqliteReading

# What the subjects of entries are, as a class of records; everything else is the site's own trail.
CLASSES: Final = {
    "run": "runs: instrument files, readings, results",
    "file": "refused instrument files",
    "certificate": "certificates",
    "delivery": "deliveries",
    "sample": "samples",
    "portion": "preparations",
    "plan": "run plans and labels printed",
    "standard": "standards",
    "instrument": "instruments and their events",
    "customer": "customers",
    "document": "controlled documents",
    "person": "people",
    "training": "training",
    "hold": "held lots",
    "investigation": "investigations",
    "opinion": "opinions",
}
REST: Final = "the rest of the trail"
_KEEP = "Stop work, keep this copy as it is, and compare with the last backup."
_REGISTERS: Final[dict[str, type]] = {
    "customer": Customer,
    "instrument": Instrument,
    "standard_lot": StandardLot,
    "sample": Sample,
    "preparation": Portion,
    "plan": RunPlan,
}
_BY_LABEL: Final[dict[str, type]] = {
    "document": RunDocument,
    "bound": Run,
    "work": RunWork,
    "manifest": Manifest,
    "packet": Packet,
    "content": Evidence,
    "evidence": Evidence,
}
_PLAIN: Final = frozenset({"report", "looked", "list"})
_DOCUMENTS: Final[dict[str, type]] = {
    "method": Method,
    "specification": Specification,
    "layout": Layout,
    "profile": Profile,
    "import_profile": ImportProfile,
    "balance_layout": BalanceLayout,
    "policy": Policy,
    "label_form": LabelForm,
    "site_rules": SiteRules,
}


@dataclass(frozen=True, slots=True)
class Kept:
    """One class of records. first, last: entry times. oldest: the subject whose first entry is the oldest.

    keep_from, keep_until: days until which the first and the last to fall due are kept; empty where no time is set.
    by_expiry: of how many the expiry of a lot sets that day, and no rule of the site or a shorter one.
    """

    name: str
    subjects: int
    first: str
    last: str
    keep_from: str
    keep_until: str
    oldest: str
    by_expiry: int = 0


@dataclass(frozen=True, slots=True)
class Opened:
    """The oldest record of a class, opened: how many of its entries and objects were read, and what was wrong."""

    name: str
    subject: str
    at: str
    entries: int
    objects: int
    findings: tuple[Finding, ...]


def kept(view: SqliteReading) -> tuple[Kept, ...]:
    """Every class that has records, in a fixed order."""
    years, expiries = rules_in_force(view).retention_years, _expiries(view)
    found = []
    for name, subjects in _classes(all_entries(view)).items():
        by_rule = {subject: _later(entries[-1].at, years) for subject, entries in subjects.items()}
        by_lot = {subject: _beyond(expiries.get(subject, "")) for subject in subjects}
        days = sorted(day for subject in subjects if (day := max(by_rule[subject], by_lot[subject])))
        found.append(
            Kept(
                name,
                len(subjects),
                min(entries[0].at for entries in subjects.values()),
                max(entries[-1].at for entries in subjects.values()),
                days[0] if days else "",
                days[-1] if days else "",
                _oldest(subjects)[0],
                sum(by_lot[subject] > by_rule[subject] for subject in subjects),
            )
        )
    return tuple(found)


def _expiries(view: SqliteReading) -> dict[str, str]:
    """Subject of entries to the latest expiry of the lots it is about, where one is on record."""
    found: dict[str, str] = {}
    for row in view.rows("sample"):
        expires = load(view, Sample, row["record"]).row.expires_on
        if expires:
            for subject in _about(view, row["sample"]):
                found[subject] = max(found.get(subject, ""), expires)
    return found


def _about(view: SqliteReading, sample: str) -> Iterator[str]:
    """Subjects of the entries about a sample: itself, its portions, runs, certificates, investigations, deliveries."""
    yield f"sample/{sample}"
    for portion in view.rows("portion", sample=sample):
        yield f"portion/{portion['batch']}/{portion['portion']}"
        for read in view.rows("run_portion", batch=portion["batch"], portion=portion["portion"]):
            yield f"run/{read['run']}"
    for table in ("hold", "investigation", "investigation_result"):
        yield from (f"investigation/{row['investigation']}" for row in view.rows(table, sample=sample))
    yield from (f"opinion/{row['opinion']}" for row in view.rows("opinion", sample=sample))
    numbers = {row["number"] for row in view.rows("certificate", sample=sample)}
    yield from (f"certificate/{number}" for number in numbers)
    for row in view.rows("released"):
        if row["number"] in numbers:
            for sent in view.rows("delivered", result_id=row["result_id"], revision=row["revision"]):
                yield f"delivery/{sent['delivery_id']}"
    yield from (f"delivery/{name}" for name in given_up_with(view, numbers))


def open_oldest(site: Site) -> tuple[Opened, ...]:
    """The oldest record of each class: every entry proven in the ledger, every object whole and readable."""
    trust = read_trust(trust_of(site))
    known = trust if isinstance(trust, Trust) else None
    with site.store.reading() as view:
        classes = _classes(all_entries(view))
        size = view.size()
        root = tree_root(size, view)
        found = []
        for name, subjects in classes.items():
            subject, entries = _oldest(subjects)
            findings = [*_unproven(view, entries, size, root), *_unreadable(view, entries, known)]
            objects = sum(len(entry.digests) for entry in entries)
            found.append(Opened(name, subject, entries[0].at, len(entries), objects, tuple(findings)))
    return tuple(found)


def _classes(entries: Sequence[Entry]) -> dict[str, dict[str, list[Entry]]]:
    """Class to subject to its entries, oldest first; classes in the order of the table."""
    found: dict[str, dict[str, list[Entry]]] = {name: {} for name in (*CLASSES.values(), REST)}
    for entry in entries:
        name = CLASSES.get(entry.subject.partition("/")[0], REST)
        found[name].setdefault(entry.subject, []).append(entry)
    return {name: subjects for name, subjects in found.items() if subjects}


def _oldest(subjects: dict[str, list[Entry]]) -> tuple[str, list[Entry]]:
    return min(subjects.items(), key=lambda item: item[1][0].seq)


def _beyond(expires: str) -> str:
    """The day a year beyond an expiry; empty where none is on record."""
    return _years_after(date.fromisoformat(expires), 1) if expires else ""


def _later(at: str, years: int) -> str:
    """The day ``years`` after an entry. Empty where no time is set."""
    return _years_after(moment_of(at).date(), years) if years else ""


def _years_after(day: date, years: int) -> str:
    """The same day ``years`` later; of 29 February the 1 March."""
    try:
        return day.replace(year=day.year + years).isoformat()
    except ValueError:
        return day.replace(year=day.year + years, month=3, day=1).isoformat()


def _unproven(view: SqliteReading, entries: Sequence[Entry], size: int, root: bytes) -> Iterator[Finding]:
    """Entries that are not in the tree the ledger's head is the root of."""
    for entry in entries:
        leaf = record_hash(entry_body(entry))
        if not check_inclusion(leaf, entry.seq - 1, size, prove_inclusion(entry.seq - 1, size, view), root):
            what = "it is not in the tree of the ledger."
            yield Finding("integrity.inclusion", f"entry {entry.seq}", what, _KEEP)


def _unreadable(view: SqliteReading, entries: Sequence[Entry], trust: Trust | None) -> Iterator[Finding]:
    """Objects that are lost, changed, or that no reader of this program opens."""
    for entry in entries:
        for label, name in entry.digests.items():
            try:
                _open(entry, label, view.bytes_of(name), trust)
            except (KeyError, ValueError) as fault:
                what = f"{label} {name[:16]}… cannot be opened: {fault}."
                yield Finding("integrity.object", f"entry {entry.seq}, {entry.subject}", what, _KEEP)


def _open(entry: Entry, label: str, data: bytes, trust: Trust | None) -> None:
    """Read an object by its type. Raises ValueError."""
    kind = _BY_LABEL.get(label) if entry.subject.startswith(("run/", "certificate/")) else None
    if label == "record":
        kind = InstrumentEvent if entry.kind == "instrument.event" else _REGISTERS.get(entry.kind.partition(".")[0])
    if label == "opinion":
        kind = Opinion
    if entry.kind.startswith("document.") and label == "value":
        kind = _DOCUMENTS.get(str(entry.facts["kind"]))
    if kind is not None:
        read_record(kind, data)
    elif label == "sealed":
        _genuine(data, trust)
    elif label in _PLAIN:
        parse_canonical(data)  # no type of its own: canonical bytes, in the form every reader expects


def _genuine(pdf: bytes, trust: Trust | None) -> None:
    """The issued certificate under the site's own trust. Raises ValueError."""
    from benchseal.verify.certificate import verify_certificate  # noqa: PLC0415  heavy, seldom needed

    if verify_certificate(pdf, trust).word == "ALTERED":
        raise ValueError("the sealed certificate is altered")
