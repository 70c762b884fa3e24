"""A plan beside what was agreed: samples it measures without need or too seldom, and cells of its sheet it leaves out.

One solution read by methods that ask for different acids is named too.
Remarks, nothing more: a plan may measure for information, or leave the rest to another plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.records.said import some

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.method import Method
    from benchseal.records.plan import PlanRow, RunPlan
    from benchseal.records.specification import Specification

_MOST_NAMED = 6
_BY_ELEMENT = ("dilutions", "added_ug", "expected_ug_per_g", "u_expected_ug_per_g")


def remarks_on(
    plan: RunPlan,
    methods: Sequence[Method],
    rows: Sequence[PlanRow],
    specifications: Mapping[str, Specification | str],
) -> Iterator[str]:
    """Sentences. specifications: by sample, what is in force; or why there is nothing."""
    for row in rows:
        measured = [method for method in methods if not row.methods or method.id in row.methods]
        agreed = specifications.get(row.sample)
        if isinstance(agreed, str):
            yield f"{row.sample}: {agreed}; nothing says what its results are for."
        elif agreed is not None:
            for method in measured:
                yield from _of_sample(plan, method, row, agreed)
        yield from _unused(plan, measured, row)
    yield from _other_acids(plan)


def _other_acids(plan: RunPlan) -> Iterator[str]:
    """Solutions that several runs read as they are made up, where their methods ask for acids that differ."""
    asked: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for portion in plan.portions:
        runs = [
            run
            for run in plan.runs
            if run.acid_percent
            and run.element not in portion.dilutions
            and any((one.batch, one.label) == (portion.batch, portion.portion) for one in run.solutions)
        ]
        if len({(run.acid, run.acid_percent) for run in runs}) > 1:
            acids = tuple((run.method.id, f"{run.acid_percent} % {run.acid}".strip()) for run in runs)
            asked.setdefault(acids, []).append(portion.portion)
    for acids, portions in asked.items():
        each = ", ".join(f"{method} {acid}" for method, acid in acids)
        shown = ", ".join(portions[:_MOST_NAMED]) + (" and others" if len(portions) > _MOST_NAMED else "")
        yield f"one solution is read in acids that differ ({each}): {shown}. Dilute for one of them, or make two plans."


def _of_sample(plan: RunPlan, method: Method, row: PlanRow, agreed: Specification) -> Iterator[str]:
    lines = [line for line in agreed.requirements if line.element == method.element]
    served = [line for line in lines if method.id in line.methods]
    if not lines:
        what = f"its specification {agreed.id} asks for no {method.element}"
        yield f"{row.sample}: {what}; {method.id} serves none of it."
    elif not served:
        others = ", ".join(dict.fromkeys(name for line in lines for name in line.methods))
        yield f"{row.sample}: its specification {agreed.id} has {method.element} by {others}, not by {method.id}."
    due = max((line.portions for line in served), default=0)
    count = _portions(plan, method, row.sample)
    if count < due:
        yield (
            f"{row.sample}: {some(count, 'portion')} of it {'is' if count == 1 else 'are'} read by {method.id}; its "
            f"specification {agreed.id} asks for {due}."
        )


def _portions(plan: RunPlan, method: Method, sample: str) -> int:
    """Portions of a sample that one method reads and that count for its result."""
    run = plan.run_of(method.id)
    read = {one.label for one in run.solutions} if run else set()
    counted = (one for one in plan.portions if one.sample == sample and one.kind in {"sample", "duplicate"})
    return sum(one.portion in read for one in counted)


def _unused(plan: RunPlan, measured: Sequence[Method], row: PlanRow) -> Iterator[str]:
    whom = row.sample or f"the {row.kind.replace('_', ' ')}"
    elements = {method.element for method in measured}
    for column in _BY_ELEMENT:
        if strangers := [element for element in getattr(row, column) if element not in elements]:
            yield f"{whom}: {column} of {', '.join(strangers)} is left out; the plan does not measure it there."
    spiked = {one.sample for one in plan.portions if one.added_ug}
    if row.kind == "sample" and elements & set(row.added_ug) and row.sample not in spiked:
        yield f"{whom}: added_ug is left out; no portion of it gets an addition."
