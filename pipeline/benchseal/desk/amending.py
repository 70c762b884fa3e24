"""Certificates after the first one of a sample: amendments, which replace, and supplements, which stand beside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt
from benchseal.desk.asked import (
    issued_of,
    of_amendment,
    of_supplement,
    replacing,
    specification_in_force,
    to_replace,
    under_way,
)
from benchseal.desk.certificates import allowed, write_draft
from benchseal.desk.drafting import gather
from benchseal.desk.gathering import look_for
from benchseal.desk.reading import load
from benchseal.desk.series import reason_told
from benchseal.problems import Refusal, Stopped
from benchseal.records.evidence import Evidence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import AmendCertificate, SupplementCertificate
    from benchseal.desk.asked import Asked
    from benchseal.store.protocol import Reading, Row


def amend_certificate(acting: Acting, act: AmendCertificate) -> Receipt:
    """Draft what replaces an issued or withdrawn certificate, from what is in force now. Raises Stopped."""
    reason = reason_told(act.reason, "certificate amend")
    view = acting.tx
    row = allowed(acting, act.number, "amend")
    sample_row = _sample(view, row)
    if refusals := [*under_way(view, sample_row), *_replaced_already(view, row)]:
        raise Stopped(*refusals)
    before = load(view, Evidence, row["content"])
    beside = [one["number"] for one in issued_of(view, row["sample"]) if one["number"] != row["number"]]
    asked = _amendment(view, sample_row, row, before, beside, reason)
    _require_whole(asked, to_replace(view, row["sample"]))
    gathered = gather(acting, sample_row, asked, act.comment, before)
    written = write_draft(acting, gathered)
    changed = [
        f"changed: {one.place}: {one.before or 'nothing'} -> {one.after or 'nothing'}"
        for one in gathered.content.changed
    ]
    said = (*written.said, f"It replaces {row['number']} once it is released.", *changed)
    return Receipt(said, {**written.data, "replaces": row["number"], "changes": len(changed)}, written.notices)


def supplement_certificate(acting: Acting, act: SupplementCertificate) -> Receipt:
    """Draft a certificate of the lines that no certificate in force reports, beside an issued one. Raises Stopped."""
    reason = reason_told(act.reason, "certificate supplement")
    view = acting.tx
    row = allowed(acting, act.number, "supplement")
    sample_row = _sample(view, row)
    if refusals := under_way(view, sample_row):
        raise Stopped(*refusals)
    asked = of_supplement(view, sample_row, row, issued_of(view, row["sample"]), reason)
    written = write_draft(acting, gather(acting, sample_row, asked, act.comment))
    said = (*written.said, f"It stands beside {' and '.join(asked.others)} and changes nothing there.")
    return Receipt(said, {**written.data, "others": [*asked.others]}, written.notices)


def _amendment(  # noqa: PLR0913, PLR0917  what an amendment is made of
    view: Reading, sample_row: Row, row: Row, before: Evidence, beside: Sequence[str], reason: str
) -> Asked:
    """By the version of the specification the replaced one used; where results were judged again, by that in force."""
    kept = of_amendment(row, before, (before.specification_ref, before.specification), beside, reason)
    refusals, _ = look_for(view, sample_row, kept)
    if not any(one.code == "certificate.specification-changed" for one in refusals):
        return kept
    version = specification_in_force(view, sample_row["specification"])
    taken_back = [one for one in to_replace(view, row["sample"]) if one["number"] != row["number"]]
    return of_amendment(row, before, version, beside, reason, entire=not beside and not taken_back)


def _replaced_already(view: Reading, row: Row) -> list[Refusal]:
    """A withdrawn certificate that was replaced: a second amendment would stand beside the first with its results."""
    remedy = "Amend the last of the series."
    return [
        Refusal("certificate.already", row["number"], f"{one['number']} replaces it, and is {one['state']}.", remedy)
        for one in replacing(view, row)
    ]


def _require_whole(asked: Asked, taken_back: Sequence[Row]) -> None:
    """Raise Stopped where the rest of the series, which it would leave lines to, is not in force."""
    in_part = asked.requirements != asked.whole.requirements or asked.specification.sums != asked.whole.sums
    if in_part and not asked.others:
        what = "it reports some lines of its specification, and no certificate in force reports the others."
        first = [one["number"] for one in taken_back if one["number"] != asked.replaces] or [asked.first]
        remedy = f"Amend {' and '.join(first)}, of its series, before."
        raise Stopped(Refusal("certificate.series-withdrawn", asked.replaces, what, remedy))


def _sample(view: Reading, row: Row) -> Row:
    sample_row = view.row("sample", sample=row["sample"])
    if sample_row is None:
        raise AssertionError("a certificate is of a registered sample")
    return sample_row
