"""Results of a run drawn again beside the record: a look, for which nothing is written and nothing signed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.compute.cross_check import cross_check
from benchseal.compute.explain_cross_check import NO_CHECK
from benchseal.compute.run_work import Worked, worked_run
from benchseal.desk.bench import bench_at, corrections_of
from benchseal.problems import Refusal, Stopped
from benchseal.records.corrections import AS_READ

if TYPE_CHECKING:
    from benchseal.compute.cross_check import Asked, CrossCheck, NoCheck
    from benchseal.compute.explain_around import Around
    from benchseal.records.results import WorkedResult
    from benchseal.store.protocol import Reading

_AS_RECORDED = "Nothing is drawn, since it would not be of this result; read the record as it is."


def drawn_again(
    view: Reading, ledger: str, of: Around, asked: Asked
) -> tuple[tuple[WorkedResult, CrossCheck | NoCheck], ...]:
    """Every result of the sample with its draws, or why there are none.

    Raises Stopped where none of them can be drawn, and where the calculation made again is not that of the record.
    """
    worked = _worked_again(view, ledger, of)
    found = tuple((one, cross_check(worked, of.requirement(one), one, asked)) for one in of.results)
    refused = [(one, why) for one, why in found if isinstance(why, str)]
    if len(refused) < len(found):
        return found
    raise Stopped(
        *(
            Refusal(
                "monte-carlo.not-covered",
                f"{of.number}/{of.sample}",
                f"{one.element} {one.quantity.replace('_', ' ')} is not drawn: {NO_CHECK[why]}.",
                "Leave out --monte-carlo; the explanation says how the result came about.",
            )
            for one, why in refused
        )
    )


def _worked_again(view: Reading, ledger: str, of: Around) -> Worked:
    """The calculation of the record made again, with the specification the record was judged by. Raises Stopped."""
    row = view.row("run", run=of.number)
    bench = bench_at(view, ledger, of.run, AS_READ if row is None else corrections_of(view, row))
    judged_by = (of.results[0].specification, of.specification)
    named = bench.samples[of.sample].row.specification
    found = worked_run(of.run, replace(bench, specifications={**bench.specifications, named: judged_by}))
    if not isinstance(found, Worked):
        raise Stopped(*found)
    if tuple(one for one in found.work.results if one.sample == of.sample) != of.results:
        what = "preparation, standards or this program give other results now than those on record."
        raise Stopped(Refusal("monte-carlo.differs-now", f"{of.number}/{of.sample}", what, _AS_RECORDED))
    return found
