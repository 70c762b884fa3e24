"""Samples of the batches of a run of which it read nothing: without a result in it, no other list would name them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.reread import ACTIONS, Again
from benchseal.records.ids import result_id

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.compute.run_portions import PortionKey
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run
    from benchseal.records.specification import Specification

_CODE = "portion.not-measured"
_WHY = "not measured in this run"


def absent_portions(run: Run, portions: Mapping[PortionKey, Portion]) -> dict[PortionKey, Portion]:
    """Portions prepared for the run's element of samples of which no portion was read, those lost left out.

    Of a sample that was read in part its result says what it lacks.
    """
    read, element = set(run.portion), run.method.element
    due = {key: one for key, one in portions.items() if one.kind in {"sample", "duplicate"} and element in one.elements}
    met = {one.sample for key, one in due.items() if key in read}
    return {key: one for key, one in due.items() if one.sample not in met and not one.not_determined}


def results_asked(method: Method, specification: Specification, ledger: str, sample: str) -> tuple[str, ...]:
    """Names of the results a sample's specification asks of a method; none where it asks nothing of it."""
    return tuple(
        result_id(ledger, sample, method.element, method.fraction, one.basis, one.quantity, one.expressed_as)
        for one in specification.requirements
        if one.element == method.element and method.id in one.methods
    )


def absent(
    portions: Mapping[PortionKey, Portion],
    asked: Mapping[str, tuple[str, ...]],
    values: Mapping[str, tuple[str, ...]],
    reasons: Mapping[str, str],
) -> tuple[Again, ...]:
    """What is to be read of such portions, as of one that is lacking beside others of its sample.

    asked: sample to the results its specification asks for; values: result to other runs that have it; reasons: sample
    to why it was not measured, where that was said.
    """
    return tuple(
        Again(
            action=ACTIONS[_CODE],
            positions=(),
            batch=key[0],
            portion=key[1],
            sample=one.sample,
            kind=one.kind,
            code=_CODE,
            why=f"{_WHY}: {reasons[one.sample]}" if one.sample in reasons else _WHY,
            extra_dilution="1",
            over=False,
            background=False,
            dilution=None,
            needed=True,
            value_in=_runs_with_all(asked[one.sample], values),
        )
        for key, one in portions.items()
        if asked.get(one.sample)
    )


def _runs_with_all(names: tuple[str, ...], values: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    every = [values.get(name, ()) for name in names]
    return tuple(dict.fromkeys(run for runs in every for run in runs)) if all(every) else ()
