"""What a certificate of one lot needs, and each thing that still stands in its way, with who can lift it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.asked import already, of_original, specification_in_force
from benchseal.desk.reading import load, result_of
from benchseal.desk.reportable import (
    answered_sums,
    apart,
    contradictions,
    held,
    held_elements,
    of_record,
    retests_only,
    sum_contradictions,
)
from benchseal.desk.standing import stands
from benchseal.desk.sums import sum_refusals, sums_of
from benchseal.problems import Refusal
from benchseal.records.manifest import Manifest
from benchseal.records.results import NotReportable, RunWork, WorkedResult
from benchseal.records.species import stated_as
from benchseal.records.specification import Requirement, Specification

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.desk.asked import Asked
    from benchseal.records.run import DocumentRef
    from benchseal.records.sums import WorkedSum
    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class Found:
    """The reviewed result that serves one requirement. basis: digest under which it was signed."""

    run: str
    result: WorkedResult
    basis: str


def look(view: Reading, sample_row: Row, comment: str = "") -> tuple[list[Refusal], list[Found]]:
    """``look_for`` the first certificate of a sample: one under way or issued is in the way too."""
    refusals, found = look_for(view, sample_row, of_original(view, sample_row), comment)
    return [*already(view, sample_row), *refusals], found


def look_for(view: Reading, sample_row: Row, asked: Asked, comment: str = "") -> tuple[list[Refusal], list[Found]]:
    """For each line asked for: the result that serves it, or what is in the way.

    What its sums put in the way is named too, once for each.
    """
    refusals = held(view, sample_row)
    ref, specification = asked.ref, asked.specification
    refusals += _agreed_with(sample_row, specification)
    found: list[Found] = []
    for requirement in asked.requirements:
        served = _serving(view, sample_row, requirement, ref)
        if isinstance(served, Refusal):
            refusals.append(served)
        else:
            found.append(served)
    refusals += contradictions(view, sample_row, [(each.run, each.result) for each in found])
    refusals += _comments(sample_row, found, comment)
    sums = sums_of(view, sample_row["sample"], ref, specification, [(each.run, each.result) for each in found])
    refusals += sum_refusals(sample_row["lot"], sums, comment, answered_sums(view, sample_row))
    refusals += sum_contradictions(view, sample_row, sums)
    return refusals, found


def sums_now(view: Reading, sample_row: Row) -> list[tuple[WorkedSum, tuple[str, ...]]]:
    """The sums of a sample as its reviewed results make them now, each with the runs of its parts."""
    document = view.row("document", kind="specification", id=sample_row["specification"], state="approved")
    if document is None or not load(view, Specification, document["value"]).sums:
        return []
    ref, specification = specification_in_force(view, sample_row["specification"])
    served = [_serving(view, sample_row, requirement, ref) for requirement in specification.requirements]
    found = [(one.run, one.result) for one in served if not isinstance(one, Refusal)]
    runs = {result.result_id: run for run, result in found}
    return [
        (worked, tuple(dict.fromkeys(runs[part.result_id] for part in worked.parts)))
        for worked in sums_of(view, sample_row["sample"], ref, specification, found)
    ]


def figures_known(view: Reading, sample_row: Row) -> list[tuple[Requirement, tuple[str, WorkedResult] | Refusal]]:
    """Each line of the sample's specification with its run and reviewed result, or what is in the way.

    What is held has no figure.
    """
    held = held_elements(view, sample_row)
    ref, specification = specification_in_force(view, sample_row["specification"])
    known: list[tuple[Requirement, tuple[str, WorkedResult] | Refusal]] = []
    for requirement in specification.requirements:
        found = _serving(view, sample_row, requirement, ref)
        if requirement.element in held:
            where = f"lot {sample_row['lot']}, {requirement.element}"
            remedy = "An investigation has to explain it."
            known.append(
                (requirement, Refusal("certificate.held", where, f"held: {held[requirement.element]}", remedy))
            )
        else:
            known.append((requirement, found if isinstance(found, Refusal) else (found.run, found.result)))
    return known


def _agreed_with(sample_row: Row, specification: Specification) -> list[Refusal]:
    """A version approved later may name another customer than the one the sample came from."""
    if specification.customer == sample_row["customer"]:
        return []
    what = (
        f"the sample is of customer {sample_row['customer']}; specification {specification.id} in force is agreed "
        f"with {specification.customer}."
    )
    remedy = "Have a version approved that names the sample's customer."
    return [Refusal("certificate.specification-customer", f"lot {sample_row['lot']}", what, remedy)]


def _serving(view: Reading, sample_row: Row, requirement: Requirement, ref: DocumentRef) -> Found | Refusal:
    """The one reviewed, reportable result for a requirement; a value of a run that is not reviewed blocks."""
    stated = stated_as(requirement.basis, requirement.expressed_as)
    where = f"lot {sample_row['lot']}, {requirement.element}{stated}"
    rows = _answering(view, sample_row, requirement, ref)
    if not rows:
        return Refusal("certificate.not-measured", where, "it was not measured.", "An analyst brings in a run.")
    good: list[Found] = []
    waiting: list[str] = []
    whys: list[str] = []
    aside: list[str] = []
    for row in rows:
        run = view.row("run", run=row["run"])
        if run is None or run["state"] == "cancelled":
            continue
        if words := _aside(view, row):
            aside.append(words)
            continue
        if not stands(view, run, row["result_id"]):
            if row["outcome"] != "not_reportable":
                waiting.append(f"{row['run']} is {run['state']}")
            continue
        work = load(view, RunWork, run["reviewed_work"])
        if not work.usable:
            whys.append(f"{row['run']} is not usable: {'; '.join(work.findings)}")
            continue
        whys += [row["why"]] if row["why"] else []
        good += [
            Found(row["run"], result, basis)
            for result, basis in zip(work.results, load(view, Manifest, run["reviewed_manifest"]).results, strict=True)
            if result.result_id == row["result_id"] and not isinstance(result.outcome, NotReportable)
        ]
    other = [each for each in good if each.result.specification != ref]
    if other:
        used, now = other[0].result.specification.version, ref.version
        what = f"{other[0].run} judged it by version {used} of the specification; version {now} is in force."
        remedy = "Judge the run again with `benchseal run rejudge`, and have it reviewed."
        return Refusal("certificate.specification-changed", where, what, remedy)
    if aside and not good and not waiting and not whys:
        return retests_only(where, aside)
    of_record_now = [each for each in good if of_record(view, each.run, each.result)]
    return _chosen(where, of_record_now[:1] or good, waiting, whys)


def _aside(view: Reading, row: Row) -> str:
    """Why an investigation keeps the result of a row from being reported, or empty."""
    result = result_of(view, row)
    return "" if result is None else apart(view, row["run"], result)


def _answering(view: Reading, sample_row: Row, requirement: Requirement, ref: DocumentRef) -> list[Row]:
    """The result rows that may answer a requirement.

    Where a specification asks for one element and quantity on several bases or as several substances, those of the
    requirement's own; results judged by another version are kept all the same, so that the change is named.
    """
    rows = view.rows("result", sample=sample_row["sample"], element=requirement.element, quantity=requirement.quantity)
    alike = [
        one
        for one in load(view, Specification, ref.digest).requirements
        if (one.element, one.quantity) == (requirement.element, requirement.quantity)
    ]
    if len(alike) == 1:
        return rows
    asked = (requirement.basis, requirement.expressed_as)
    found = [(row, result_of(view, row)) for row in rows]
    return [
        row for row, one in found if one is None or one.specification != ref or (one.basis, one.expressed_as) == asked
    ]


def _chosen(where: str, good: list[Found], waiting: list[str], whys: Sequence[str]) -> Found | Refusal:
    if len(good) == 1 and not waiting:
        return good[0]
    if len(good) > 1:
        runs = ", ".join(each.run for each in good)
        what = f"several reviewed runs give a result: {runs}. A repeat that was not planned cannot be chosen from."
        return Refusal(
            "certificate.several-results",
            where,
            what,
            "Reopen the run that does not count; then cancel it with its reason.",
        )
    if waiting:
        what = f"{'; '.join(waiting)}."
        return Refusal("certificate.not-reviewed", where, what, "The analyst submits it, a reviewer accepts it.")
    reasons = "; ".join(dict.fromkeys(whys)) or "no run gives a result"
    return Refusal("certificate.no-result", where, f"not determined: {reasons}", "An analyst measures it again.")


def _comments(sample_row: Row, found: Sequence[Found], comment: str) -> list[Refusal]:
    if comment.strip():
        return []
    return [
        Refusal(
            "certificate.comment-required",
            f"lot {sample_row['lot']}, {each.result.element}{stated_as(each.result.basis, each.result.expressed_as)}",
            each.result.comment_required,
            "Weigh it, then draft with --comment.",
        )
        for each in found
        if each.result.comment_required
    ]
