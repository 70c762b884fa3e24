"""What was prepared for a run and not read in it, and the correction that says why."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.desk.bench import corrections_of
from benchseal.desk.proposals import Proposal, require_other, run_named
from benchseal.desk.reading import load, sample_of_lot
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.corrections import NOT_MEASURED_CAUSES, OTHER_RUN, Unmeasured, ValueChange
from benchseal.records.preparation import Portion
from benchseal.records.run import Run

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.store.protocol import Reading


def not_measured(view: Reading, number: str, sets: Sequence[str], reason: str) -> Proposal:
    """A sample prepared for a run and not measured in it, with cause and reason. sets: ``SAMPLE_OR_LOT=CAUSE``.

    Of a sample read in part only the portions without a reading are spoken of. Raises Stopped where none is left.
    """
    row = run_named(view, number)
    corrections, run = corrections_of(view, row), load(view, Run, row["bound"])
    unmeasured = {one.sample: one for one in corrections.unmeasured}
    changes = []
    for text in sets:
        called, _, cause = text.rpartition("=")
        if cause not in NOT_MEASURED_CAUSES:
            what = f"'{cause}' is no cause; a sample was not measured for: {', '.join(sorted(NOT_MEASURED_CAUSES))}."
            raise Stopped(Problem("run.not-measured-cause", number, what, "Take the one that says it best."))
        name = str(sample_of_lot(view, called)["sample"])
        of = f"{_unread(view, number, run, name)} not measured"
        if cause == OTHER_RUN:
            _require_read_elsewhere(view, number, run, name)
        was = unmeasured[name].words if name in unmeasured else "no reason given"
        now = Unmeasured(name, reason, cause)
        require_other(f"run/{number}", of, was, now.words)
        changes.append(ValueChange(of, was, now.words))
        unmeasured[name] = now
    kept = replace(corrections, unmeasured=tuple(unmeasured[name] for name in sorted(unmeasured)))
    return Proposal(f"run/{number}", tuple(changes), (number,), own={number: kept})


def unread(run: Run, portions: Iterable[Portion], sample: str) -> str:
    """What of a sample was to be read in a run and was not: the sample, or its portions. Empty where all was read."""
    due = [one for one in portions if one.sample == sample and run.method.element in one.elements]
    due = [one for one in due if not one.not_determined]
    read = set(run.portion)
    lacking = [one.portion for one in due if (one.batch, one.portion) not in read]
    if not lacking:
        return ""
    return sample if len(lacking) == len(due) else f"{sample}, of it {', '.join(lacking)}"


def _unread(view: Reading, number: str, run: Run, name: str) -> str:
    """The same, or Stopped with what was read and where."""
    batches = {batch for batch, _ in run.portion if batch}
    own = [load(view, Portion, one["record"]) for one in view.rows("portion", sample=name) if one["batch"] in batches]
    prepared = [one for one in own if run.method.element in one.elements]
    if not prepared:
        what = f"{name} was not prepared for {run.method.element} in the batches of {number}."
        raise Stopped(Refusal("run.not-prepared", number, what, "See `benchseal sample show`."))
    if lacking := unread(run, prepared, name):
        return lacking
    keys = {(one.batch, one.portion) for one in prepared}
    positions = run.document.solutions.position
    read = [str(at) for at, key in zip(positions, run.portion, strict=True) if key in keys]
    if not read:
        lost = "; ".join(f"{one.portion}: {one.not_determined}" for one in prepared)
        what = f"nothing of {name} was to be measured; the preparation says of it: {lost}."
        raise Stopped(Refusal("run.not-prepared", number, what, "The reason is on record; nothing needs to be done."))
    what = f"every portion of {name} that was to be measured was read in it, at positions {', '.join(read)}."
    remedy = "A reading that does not count is left out by its position: `benchseal run exclude`."
    raise Stopped(Refusal("run.was-measured", number, what, remedy))


def _require_read_elsewhere(view: Reading, number: str, run: Run, name: str) -> None:
    """Raise Stopped where no other run that counts has a reading of what was not read of a sample here."""
    lacking = {(one["batch"], one["portion"]) for one in view.rows("portion", sample=name)} - set(run.portion)
    named = {each["run"] for batch, label in lacking for each in view.rows("run_portion", batch=batch, portion=label)}
    for other in view.rows("run", element=run.method.element):
        stands = other["run"] in named - {number} and other["state"] != "cancelled"
        if stands and lacking & set(load(view, Run, other["bound"]).portion):
            return
    what = f"what of {name} was not read in {number} was read for {run.method.element} in no other run that stands."
    raise Stopped(Refusal("run.read-nowhere", number, what, "Bring the other run in first, or name another cause."))
