"""What a certificate is to report, and how it stands to those issued of the same sample before.

An original reports every line of its specification. An amendment reports the lines of the certificate it replaces; a
supplement those no certificate in force reports. Either names the first of the series.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.desk.in_force import in_force
from benchseal.desk.reading import load
from benchseal.problems import Refusal, Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.run import DocumentRef
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.records.canonical import Digest
    from benchseal.records.results import WorkedResult
    from benchseal.records.specification import Requirement
    from benchseal.store.protocol import Reading, Row

Kind: TypeAlias = Literal["original", "amendment", "supplement"]
_Line: TypeAlias = tuple[str, str, str, str]
# A certificate not issued yet, by its state: how it comes to an end.
_UNDER_WAY: Final = {
    "draft": "Have it approved and released, or discard it.",
    "approved": "Release it, or return it and discard it.",
    "sealing": "Run `benchseal certificate release` again: it is sealed then, or a draft again where it cannot be.",
}
_ISSUED: Final = frozenset({"released", "superseded", "withdrawn"})


@dataclass(frozen=True, slots=True)
class Asked:
    """Lines to report, by one version of a specification, and the series.

    specification: with the sums to report only. first, replaces, replaced_sha256: empty for an original. others:
    certificates that report the other lines, where only some are reported here.
    """

    ref: DocumentRef
    whole: Specification
    specification: Specification
    requirements: tuple[Requirement, ...]
    kind: Kind = "original"
    first: str = ""
    replaces: str = ""
    replaced_sha256: Digest = ""
    reason: str = ""
    others: tuple[str, ...] = ()


def specification_in_force(view: Reading, identifier: str) -> tuple[DocumentRef, Specification]:
    """The approved version of a specification. Raises Stopped when none is in force."""
    row = in_force(view, "specification", identifier)
    if isinstance(row, str):
        raise Stopped(
            Refusal(
                "specification.not-in-force",
                identifier,
                f"no version of this specification is in force: {row}.",
                "A quality approver approves it with `benchseal document approve`.",
            )
        )
    ref = DocumentRef(row["id"], int(row["version"]), row["value"])
    return ref, load(view, Specification, row["value"])


def of_original(view: Reading, sample_row: Row) -> Asked:
    """Every line of the specification in force."""
    ref, specification = specification_in_force(view, sample_row["specification"])
    return Asked(ref, specification, specification, specification.requirements)


def of_amendment(  # noqa: PLR0913  what an amendment is made of
    row: Row,
    before: Evidence,
    version: tuple[DocumentRef, Specification],
    others: Sequence[str],
    reason: str,
    *,
    entire: bool = False,
) -> Asked:
    """The lines of the certificate replaced, by ``version`` of its specification; those it no longer has are left out.

    before: the evidence of the certificate in ``row``. others: certificates in force beside it. entire: every line
    and sum of the version, since no other certificate of the sample could ever report those that were added.
    """
    ref, whole = version
    reported = set(reported_lines(before))
    requirements = tuple(one for one in whole.requirements if entire or line_of(one) in reported)
    names = {one.name for one in before.sums}
    sums = tuple(one for one in whole.sums if entire or one.id in names)
    in_part = requirements != whole.requirements or sums != whole.sums
    return Asked(
        ref,
        whole,
        replace(whole, sums=sums),
        requirements,
        kind="amendment",
        first=row["first"],
        replaces=row["number"],
        replaced_sha256=row["sealed"],
        reason=reason,
        others=tuple(others) if in_part else (),
    )


def of_supplement(view: Reading, sample_row: Row, row: Row, issued: Sequence[Row], reason: str) -> Asked:
    """The lines of the specification in force that none of ``issued`` reports, and the sums of nothing but these.

    Raises Stopped where nothing is left, or a sum needs both what was reported and what was not.
    """
    ref, whole = specification_in_force(view, sample_row["specification"])
    contents = [load(view, Evidence, one["content"]) for one in issued]
    reported = {line for content in contents for line in reported_lines(content)}
    known_sums = {one.name for content in contents for one in content.sums}
    requirements = tuple(one for one in whole.requirements if line_of(one) not in reported)
    where = f"lot {sample_row['lot']}"
    _require_not_taken_back(view, sample_row, requirements)
    if not requirements:
        what = f"every line of {ref.id} version {ref.version} is reported by {', '.join(r['number'] for r in issued)}."
        remedy = "What was reported wrongly is amended; a line to be added stands in the specification first."
        raise Stopped(Refusal("certificate.nothing-to-add", where, what, remedy))
    elements = {one.element for one in requirements}
    asked = [one for one in whole.sums if one.id not in known_sums]
    across = [one.id for one in asked if not set(one.elements) <= elements]
    if across:
        what = f"the sum {', '.join(across)} is made of what was reported and of what was not."
        remedy = f"Have its runs judged by that version (`benchseal run rejudge`), then amend {row['number']}."
        raise Stopped(Refusal("certificate.sum-across", where, what, remedy))
    return Asked(
        ref,
        whole,
        replace(whole, sums=tuple(asked)),
        requirements,
        kind="supplement",
        first=row["first"],
        reason=reason,
        others=tuple(one["number"] for one in issued),
    )


def _require_not_taken_back(view: Reading, sample_row: Row, requirements: Sequence[Requirement]) -> None:
    """Raise Stopped where a line left to report is one of a withdrawn certificate: an amendment has to name that."""
    lines = {line_of(one) for one in requirements}
    for row in to_replace(view, sample_row["sample"]):
        if lines.isdisjoint(reported_lines(load(view, Evidence, row["content"]))):
            continue
        what = f"{row['number']} is withdrawn, and nothing replaces what it reported."
        remedy = "Amend it first, or have a version of the specification approved without these lines."
        raise Stopped(Refusal("certificate.series-withdrawn", f"lot {sample_row['lot']}", what, remedy))


def reported_lines(evidence: Evidence) -> Iterator[_Line]:
    """The lines of a specification that a certificate reports."""
    return (line_of(basis.result) for basis in evidence.results)


def line_of(one: Requirement | WorkedResult) -> _Line:
    """What tells the lines of a specification apart."""
    return one.element, one.quantity, one.basis, one.expressed_as


def issued_of(view: Reading, sample: str) -> list[Row]:
    """Certificates of a sample that are issued and in force, in order of their numbers."""
    return view.rows("certificate", sample=sample, state="released")


def to_replace(view: Reading, sample: str) -> list[Row]:
    """Certificates of a sample that are withdrawn and that no issued one replaces."""
    return [row for row in view.rows("certificate", sample=sample, state="withdrawn") if not replacing(view, row)]


def replacing(view: Reading, row: Row) -> list[Row]:
    """Issued certificates that replace the one in ``row``, whatever became of them."""
    return [one for one in view.rows("certificate", replaces=row["number"]) if one["state"] in _ISSUED]


def under_way(view: Reading, sample_row: Row) -> list[Refusal]:
    """A certificate of the sample not issued yet: two at a time would not know of each other."""
    return [
        Refusal(
            "certificate.already",
            f"lot {sample_row['lot']}",
            f"certificate {row['number']} is {row['state']}.",
            _UNDER_WAY[row["state"]],
        )
        for row in view.rows("certificate", sample=sample_row["sample"])
        if row["state"] in _UNDER_WAY
    ]


def already(view: Reading, sample_row: Row) -> list[Refusal]:
    """A certificate of the sample that is under way or was ever issued: an original would not name it."""
    rows: Iterable[Row] = view.rows("certificate", sample=sample_row["sample"])
    return [
        *under_way(view, sample_row),
        *(
            Refusal(
                "certificate.already",
                f"lot {sample_row['lot']}",
                f"certificate {row['number']} is {row['state']}.",
                "An issued or withdrawn certificate is amended; what was determined later is a supplement.",
            )
            for row in rows
            if row["state"] in {"released", "withdrawn"}
        ),
    ]
