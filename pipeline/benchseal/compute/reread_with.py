"""What a new run needs around the portions read again: portions that belong to them, and the method's own checks.

A result is made of portions of one batch read in one run, its blank among them (``run_portions.py``), and a spike is
compared with its unspiked portion of the same run. A run has its own calibration and every required check.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.run_checks import SIMPLE_CHECKS
from benchseal.compute.run_verdict import OF_A_BATCH

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.compute.reread import Again
    from benchseal.compute.run_portions import PortionKey
    from benchseal.records.method import CheckKind, Method
    from benchseal.records.preparation import Portion, PortionKind
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import StoredUse

Belongs: TypeAlias = Literal["other_portion", "unspiked", "spiked", "blank_taken_off", "required"]
_MADE_ON: dict[CheckKind, PortionKind] = {
    "method_blank": "method_blank",
    "control_sample": "control_sample",
    "reference_material": "reference_material",
    "spike": "spiked_sample",
    "post_spike": "post_spiked_sample",
    "spikes_agree": "spiked_sample",
}
_READ_ANYWHERE = SIMPLE_CHECKS | {"dilution_test"}  # of any portion


@dataclass(frozen=True, slots=True)
class Companion:
    """A portion with nothing wrong about it that is to be read with others. of: labels of those, by reason."""

    batch: str
    portion: str
    sample: str
    kind: PortionKind
    reasons: tuple[tuple[Belongs, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Need:
    """A check of the method that the new run needs. every: presented solutions at most between two (0: once).

    batch: where the check is made on a prepared portion and this batch has none on record; else empty.
    """

    rule: str
    check: CheckKind
    expected: PlainDecimal
    every: int
    at_end: bool
    brackets: bool
    batch: str


@dataclass(frozen=True, slots=True)
class NewRun:
    """What stands around the portions that are read again; empty where nothing is.

    curve_of: run whose curve this one used, and whose curve the new one may use in place of standards for valid_hours
    from measured_at on, with one correction standard and its blank; empty where this run had its own calibration.
    bracketing_window_percent: how far bracket standards may stand from a portion; empty where none are needed.
    """

    standards: int
    companions: tuple[Companion, ...]
    needs: tuple[Need, ...]
    curve_of: str = ""
    measured_at: str = ""
    valid_hours: PlainDecimal = ""
    bracketing_window_percent: PlainDecimal = ""


def new_run(
    method: Method, again: Sequence[Again], portions: Mapping[PortionKey, Portion], stored: Sequence[StoredUse] = ()
) -> NewRun:
    """What a run of ``again`` needs beside it.

    portions: every portion of their batches. stored: how the run that is read again used an earlier curve.
    """
    tray = [one for one in again if one.action != "complete_record"]
    if not tray:
        return NewRun(0, (), ())
    usable = {key: one for key, one in portions.items() if method.element in one.elements and not one.not_determined}
    found: dict[PortionKey, dict[Belongs, dict[str, None]]] = {}
    lacking: list[Need] = []
    for key, why, of in (*_of_portions(method, tray, usable), *_required(method, tray, usable, lacking)):
        found.setdefault(key, {}).setdefault(why, {}).update(dict.fromkeys([of] if of else []))
    own = {one.key for one in tray}
    lender = stored[0] if stored else None
    return NewRun(
        standards=len(method.standards),
        companions=tuple(
            Companion(
                *key, usable[key].sample, usable[key].kind, tuple((why, tuple(of)) for why, of in reasons.items())
            )
            for key, reasons in found.items()
            if key not in own
        ),
        needs=(*_own_checks(method), *lacking),
        curve_of="" if lender is None else lender.run,
        measured_at="" if lender is None else lender.measured_at,
        valid_hours="" if lender is None else method.stored_curve.valid_hours,
        bracketing_window_percent=method.calibration.bracketing_window_percent if method.calibration.bracketing else "",
    )


def _of_portions(
    method: Method, tray: Sequence[Again], usable: Mapping[PortionKey, Portion]
) -> Iterator[tuple[PortionKey, Belongs, str]]:
    """Other portions of a sample, unspiked and spiked ones, blanks that are taken off: each with what it belongs to."""
    for one in tray:
        for key, other in usable.items():
            if other.batch == one.batch and key != one.key:
                why = _belongs(method, one, other, usable)
                if why:
                    yield key, why, one.portion


def _belongs(method: Method, one: Again, other: Portion, usable: Mapping[PortionKey, Portion]) -> Belongs | Literal[""]:
    if other.kind == "method_blank":
        return "blank_taken_off" if method.blank_subtraction != "none" and one.kind != "method_blank" else ""
    if one.kind in {"sample", "duplicate"}:
        if other.kind in {"sample", "duplicate"}:
            return "other_portion" if other.sample == one.sample else ""
        return "spiked" if one.portion and other.spike_of == one.portion else ""
    mine = usable.get(one.key)
    if mine is None or not mine.spike_of:
        return ""
    agree = any(rule.check == "spikes_agree" for rule in method.checks)
    if agree and (other.kind, other.spike_of) == (mine.kind, mine.spike_of):
        return "other_portion"
    return "unspiked" if mine.spike_of == other.portion else ""


def _required(
    method: Method, tray: Sequence[Again], usable: Mapping[PortionKey, Portion], lacking: list[Need]
) -> Iterator[tuple[PortionKey, Belongs, str]]:
    """Portions for required checks of each batch; a check without any goes to ``lacking``."""
    rules = {rule.check: rule for rule in method.checks if rule.required and rule.check in _MADE_ON}
    for batch in dict.fromkeys(one.batch for one in tray if one.batch):
        for check, rule in rules.items():
            keys = [key for key, one in usable.items() if one.batch == batch and one.kind == _MADE_ON[check]]
            if check in OF_A_BATCH and keys:
                keys = _of_one_sample(keys, tray, usable)
            for key in keys:
                yield key, "required", ""
                native = (batch, usable[key].spike_of)
                if native in usable:
                    yield native, "unspiked", key[1]
            if not keys:
                lacking.append(Need(rule.id, check, rule.expected, 0, at_end=False, brackets=False, batch=batch))


def _of_one_sample(
    keys: Sequence[PortionKey], tray: Sequence[Again], usable: Mapping[PortionKey, Portion]
) -> list[PortionKey]:
    """Spiked portions of one sample stand for the batch: of one that is read anyhow, where there is such."""
    read = {one.sample for one in tray}
    first = next((key for key in keys if usable[key].sample in read), keys[0])
    return [key for key in keys if usable[key].sample == usable[first].sample]


def _own_checks(method: Method) -> Iterator[Need]:
    for rule in method.checks:
        if rule.check in _READ_ANYWHERE and (rule.required or rule.brackets):
            yield Need(rule.id, rule.check, rule.expected, rule.every, rule.at_end, rule.brackets, "")
