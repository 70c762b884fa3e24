"""What a correction proposes: the record as it should have been, with every rule of the record's own sheet applied.

A proposal changes nothing. ``desk/correcting.py`` finds what it would change, ``desk/corrections.py`` does it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, TypeVar

from benchseal.desk.bench import AS_ON_RECORD, Instead, corrections_of, documents_of
from benchseal.desk.given_cells import given_cells, of_record, require_once
from benchseal.desk.in_force import in_force
from benchseal.desk.reading import load, sample_of_lot
from benchseal.documents.row_text import row_text, sheet_of
from benchseal.documents.sheets import read_customers, read_preparation, read_samples, read_standard_lots
from benchseal.problems import Notice, Problem, Refusal, Stopped
from benchseal.records.corrections import (
    EXCLUSION_CAUSES,
    Excluded,
    Relabelled,
    RunCorrections,
    ValueChange,
)
from benchseal.records.preparation import Portion
from benchseal.records.registers import Customer, Sample, SampleRow, StandardLot
from benchseal.records.run import PRESENTED_KINDS, Run, RunDocument

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.store.protocol import Reading, Row

T = TypeVar("T")

PREPARATION = frozenset(field.name for field in fields(Portion)) - {"portion", "batch", "kind", "elements"}
STANDARD = frozenset(field.name for field in fields(StandardLot)) - {"lot", "element", "purpose"}
SAMPLE = frozenset(field.name for field in fields(SampleRow)) - {"customer", "specification"}
CUSTOMER = frozenset(field.name for field in fields(Customer)) - {"customer"}
_BY_VALUE = ("outlier", "grubbs", "dixon", "statistic", "does not fit", "too high", "too low")


@dataclass(frozen=True, slots=True)
class Proposal:
    """One correction. runs: those that may rest on it. own: the corrected list of what was put right in a run.

    record: the row as it should have been, where a row is corrected. certificates_of: sample whose certificates print
    what is corrected, whatever their results. drafts_of: customer of whom those not yet released print it. anew: method
    and specifications to be taken as they are in force now.
    """

    subject: str
    changes: tuple[ValueChange, ...]
    runs: tuple[str, ...] = ()
    instead: Instead = AS_ON_RECORD
    own: Mapping[str, RunCorrections] = field(default_factory=dict)
    record: Portion | StandardLot | Sample | Customer | None = None
    certificates_of: str = ""
    drafts_of: str = ""
    anew: frozenset[str] = frozenset()


def preparation(view: Reading, named: str, sets: Sequence[str]) -> Proposal:
    """A preparation row with other values. named: ``batch/label``, or the label where one batch alone has it."""
    row = portion_named(view, named)
    old = load(view, Portion, row["record"])
    subject = f"portion/{old.batch}/{old.portion}"
    texts, changes = _changed(subject, row_text(old), sets, PREPARATION)
    others = [load(view, Portion, one["record"]) for one in view.rows("portion", batch=old.batch)]
    sheet = sheet_of(texts if one == old else row_text(one) for one in others)
    found = _records(read_preparation(sheet, subject), texts)
    new = next(one for one in found if one.portion == old.portion)
    _stop_if(_portion_faults(view, new, subject))
    runs = sorted({one["run"] for one in view.rows("run_portion", batch=old.batch)})
    return Proposal(subject, changes, tuple(runs), Instead(portions={(old.batch, old.portion): new}), record=new)


def standard(view: Reading, lot: str, sets: Sequence[str]) -> Proposal:
    """A standard lot with other values. A new value does not change what was diluted: the old one stays as that."""
    row = view.row("standard_lot", lot=lot)
    if row is None:
        what = "no such lot is registered."
        raise Stopped(Refusal("standard.unknown", lot, what, "See `benchseal standard list`."))
    old = load(view, StandardLot, row["record"])
    subject = f"standard/{lot}"
    texts, _ = _changed(subject, row_text(old), sets, STANDARD)
    if texts["prepared_as"] == old.prepared_as and texts["value"] != old.value:
        texts["prepared_as"] = old.prepared_as or old.value
    if texts["prepared_as"] == texts["value"]:
        texts["prepared_as"] = ""
    (new,) = _records(read_standard_lots(sheet_of([texts]), subject), texts)
    rested = {one["run"] for name in ("lot", "second_lot") for one in view.rows("calculation", **{name: lot})}
    return Proposal(
        subject,
        _differing(row_text(old), texts),
        tuple(sorted(rested)),
        Instead(lots={lot: new}),
        record=new,
    )


def sample(view: Reading, named: str, sets: Sequence[str]) -> Proposal:
    """A register line with other words. What a sample is judged by, and whose it is, are no words."""
    row = sample_of_lot(view, named)
    old = load(view, Sample, row["record"])
    subject = f"sample/{old.sample}"
    texts, changes = _changed(subject, row_text(old.row), sets, SAMPLE)
    (new,) = _records(read_samples(sheet_of([texts]), subject), texts)
    _stop_if(_sample_faults(view, old.sample, new, subject))
    return Proposal(subject, changes, record=Sample(old.sample, new), certificates_of=old.sample)


def customer(view: Reading, named: str, sets: Sequence[str]) -> Proposal:
    """A customer with another name, address or contact. What was issued says what was right when it was issued."""
    row = view.row("customer", customer=named)
    if row is None:
        what = "no such customer is registered."
        raise Stopped(Refusal("customer.unknown", named, what, "See `benchseal recipient list`."))
    subject = f"customer/{named}"
    texts, changes = _changed(subject, row_text(load(view, Customer, row["record"])), sets, CUSTOMER)
    (new,) = _records(read_customers(sheet_of([texts]), subject), texts)
    return Proposal(subject, changes, record=new, drafts_of=named if {"name", "address"} & _named(changes) else "")


def relabel(view: Reading, number: str, sets: Sequence[str]) -> Proposal:
    """Positions of a run with the portions they were. sets: ``POSITION=SAMPLE`` or ``POSITION=SAMPLE:LABEL``."""
    row = run_named(view, number)
    corrections, document = corrections_of(view, row), load(view, RunDocument, row["document"])
    labels = {one.position: one for one in corrections.labels}
    said = {one.position: one.label for one in corrections.labels}
    changes = []
    given: dict[int, str] = {}
    for text in sets:
        place, _, of = text.partition("=")
        position, index = _position(document, number, place)
        require_once(f"run/{number}", f"position {position}", given.get(position), of)
        given[position] = of
        one = _relabelled(view, row, position, document.solutions.kind[index], of)
        was = said.get(position, document.solutions.label[index])
        require_other(f"run/{number}", f"label of position {position}", was, one.label)
        changes.append(ValueChange(f"label of position {position}", was, one.label))
        labels[position] = one
    kept = tuple(labels[position] for position in sorted(labels))
    own = replace(corrections, labels=kept)
    return Proposal(f"run/{number}", tuple(changes), (number,), own={number: own})


def exclude(view: Reading, number: str, sets: Sequence[str], reason: str) -> Proposal:
    """Positions of a run left out. sets: ``POSITION=CAUSE``; a cause is something found, never the value itself."""
    row = run_named(view, number)
    corrections, document = corrections_of(view, row), load(view, RunDocument, row["document"])
    excluded = {one.position: one for one in corrections.excluded}
    changes = []
    for text in sets:
        place, _, cause = text.partition("=")
        position, index = _position(document, number, place)
        _require_cause(number, cause, reason)
        if document.solutions.kind[index] not in PRESENTED_KINDS:
            kind = document.solutions.kind[index].replace("_", " ")
            what = f"position {position} is a {kind}; calibration and checks are never left out."
            raise Stopped(Refusal("run.exclude-kind", number, what, "Measure the run again."))
        if position in excluded:
            what = f"position {position} is left out already: {EXCLUSION_CAUSES[excluded[position].cause]}."
            raise Stopped(Refusal("correction.nothing-changes", number, what, "Nothing needs to be done."))
        excluded[position] = Excluded(position, cause)
        changes.append(ValueChange(f"position {position}", "used", f"left out: {EXCLUSION_CAUSES[cause]}"))
    own = replace(corrections, excluded=tuple(excluded[position] for position in sorted(excluded)))
    return Proposal(f"run/{number}", tuple(changes), (number,), own={number: own})


def rejudge(view: Reading, number: str, sets: Sequence[str]) -> Proposal:
    """A run by the versions in force now of its method and specifications. sets: which of them; empty for all."""
    row = run_named(view, number)
    used = documents_of(view, row)
    unknown = [name for name in sets if name not in used]
    if unknown:
        what = f"it was not calculated by {', '.join(unknown)}; it was by {', '.join(used)}."
        raise Stopped(Problem("run.rejudge-document", number, what, "Name one of these, or none for all."))
    changes: list[ValueChange] = []
    for name in dict.fromkeys(sets or used):
        kind, _, identifier = name.partition("/")
        now = in_force(view, kind, identifier)
        if isinstance(now, str):
            raise Stopped(Refusal("run.rejudge-not-in-force", number, f"{name}: {now}.", "Have a version approved."))
        if now["value"] != used[name].digest:
            changes.append(ValueChange(name, f"version {used[name].version}", f"version {now['version']}"))
    if not changes:
        what = "it was calculated by the versions in force now."
        raise Stopped(Refusal("correction.nothing-changes", number, what, "Nothing needs to be done."))
    own = {number: corrections_of(view, row)}
    anew = frozenset(one.name for one in changes)
    return Proposal(f"run/{number}", tuple(changes), (number,), own=own, anew=anew)


def portion_named(view: Reading, named: str) -> Row:
    """The row of a portion given as ``batch/label`` or label. Raises Stopped."""
    cuts = [place for place, letter in enumerate(named) if letter == "/"]  # labels hold strokes too
    rows = view.rows("portion", portion=named) or [
        row for cut in cuts for row in view.rows("portion", batch=named[:cut], portion=named[cut + 1 :])
    ]
    if len(rows) == 1:
        return rows[0]
    if not rows:
        what, remedy = "no preparation has such a row.", "Name it as BATCH/LABEL; see `benchseal sample show`."
        raise Stopped(Refusal("preparation.unknown", named, what, remedy))
    batches = ", ".join(row["batch"] for row in rows)
    raise Stopped(Refusal("preparation.several", named, f"it stands in batches {batches}.", "Name it as BATCH/LABEL."))


def run_named(view: Reading, number: str) -> Row:
    """The row of a run. Raises Stopped."""
    row = view.row("run", run=number)
    if row is None:
        raise Stopped(Refusal("run.unknown", number, "there is no such run.", "See `benchseal run list`."))
    return row


def _changed(
    subject: str, before: Mapping[str, str], sets: Sequence[str], may: frozenset[str]
) -> tuple[dict[str, str], tuple[ValueChange, ...]]:
    """Cells with those of ``sets`` (``name=text``) in their places. Raises Stopped for one that cannot be set."""
    texts = {**before, **given_cells(subject, sets, may)}
    changes = _differing(before, texts)
    if not changes:
        what = "every value named is the one on record."
        raise Stopped(Refusal("correction.nothing-changes", subject, what, "Name what is to be put right."))
    return texts, changes


def _differing(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[ValueChange, ...]:
    return tuple(ValueChange(name, before[name], after[name]) for name in before if before[name] != after[name])


def _named(changes: Sequence[ValueChange]) -> set[str]:
    return {one.name for one in changes}


def require_other(subject: str, name: str, old: str, new: str) -> None:
    """Stopped where what is to be put right says so already."""
    if old == new:
        what = f"{name}: it is {new} already."
        raise Stopped(Refusal("correction.nothing-changes", subject, what, "Name what is to be put right."))


def _require_cause(number: str, cause: str, reason: str) -> None:
    if cause not in EXCLUSION_CAUSES:
        what = f"'{cause}' is no cause; a reading is left out for: {', '.join(sorted(EXCLUSION_CAUSES))}."
        raise Stopped(Problem("run.exclude-cause", number, what, "Find the cause, or let the reading stand."))
    if word := next((word for word in _BY_VALUE if word in reason.casefold()), ""):
        what = f"the reason speaks of the value ('{word}'), not of a cause."
        remedy = "A test or a value alone leaves nothing out. Say what was found, or let the reading stand."
        raise Stopped(Refusal("run.exclude-by-value", number, what, remedy))


def _position(document: RunDocument, number: str, text: str) -> tuple[int, int]:
    """A position and its place among the solutions. Raises Stopped."""
    position = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    if position not in document.solutions.position:
        last = document.solutions.position[-1]
        what = f"it has no position '{text[:20]}'; its positions are 1 to {last}."
        raise Stopped(Problem("run.position", number, what, "See `benchseal run explain`."))
    return position, document.solutions.position.index(position)


def _relabelled(view: Reading, row: Row, position: int, kind: str, of: str) -> Relabelled:
    """The portion a position was. of: a sample, or ``SAMPLE:LABEL`` where it has several portions in the run."""
    number = str(row["run"])
    if kind not in PRESENTED_KINDS:
        what = f"position {position} is a {kind.replace('_', ' ')}, of no sample."
        raise Stopped(Refusal("run.relabel-kind", number, what, "Measure the run again."))
    named, _, label = of.partition(":")
    name = str(sample_of_lot(view, named)["sample"])
    run = load(view, Run, row["bound"])
    batches = {batch for batch, _ in run.portion if batch}
    element = run.method.element
    portions = [
        load(view, Portion, one["record"]) for one in view.rows("portion", sample=name) if one["batch"] in batches
    ]
    fits = [one for one in portions if element in one.elements and (not label or label in one.labels_for(element))]
    if not label:
        fits = [one for one in fits if one.kind == kind] or fits
    if len(fits) != 1:
        labels = ", ".join(tube for one in portions for tube in one.labels_for(element)) or "none"
        what = f"position {position}: {name} has {len(fits)} portions that fit; its labels for {element}: {labels}."
        raise Stopped(Problem("run.relabel-portion", number, what, "Name one as SAMPLE:LABEL."))
    return Relabelled(position, label or fits[0].labels_for(element)[0], fits[0].kind)


def _portion_faults(view: Reading, new: Portion, subject: str) -> list[Problem]:
    from benchseal.desk.registers import portion_sample_problems  # noqa: PLC0415  registers are wide

    problems = list(portion_sample_problems(view, new, subject)) if new.sample else []
    if new.prepared_by and view.row("person", person=new.prepared_by) is None:
        what = f"{new.prepared_by} is not enrolled."
        problems.append(Problem("preparation.person-unknown", subject, what, "Give the preparer's user id."))
    return problems


def _sample_faults(view: Reading, number: str, new: SampleRow, subject: str) -> list[Problem]:
    problems = [
        Problem(
            "sample.already", subject, f"{row['sample']} is registered with exactly this line.", "Say what differs."
        )
        for row in view.rows("sample", customer=new.customer, lot=new.lot)
        if row["sample"] != number and load(view, Sample, row["record"]).row == new
    ]
    for row in view.rows("portion", sample=number):
        prepared = load(view, Portion, row["record"]).prepared_at
        if prepared[:10] < new.received_on:
            what = f"portion {row['portion']} was prepared at {prepared}, before the receipt on {new.received_on}."
            problems.append(Problem("preparation.before-receipt", subject, what, "Put one of the two right."))
    return problems


def _records(read: tuple[T, ...] | tuple[Problem, ...], texts: Mapping[str, str]) -> tuple[T, ...]:
    _stop_if([*of_record((each for each in read if isinstance(each, Notice)), texts)])
    return tuple(each for each in read if not isinstance(each, Notice))


def _stop_if(problems: Sequence[Notice]) -> None:
    if problems:
        raise Stopped(*problems)
