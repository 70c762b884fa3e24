"""Opinions on record: those that hold for a sample, and whether they are about the results of a certificate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load, read_signature
from benchseal.problems import Refusal, Stopped
from benchseal.records.opinions import Opinion, SignedOpinion

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.store.protocol import Reading


def opinions_of(view: Reading, sample: str) -> tuple[SignedOpinion, ...]:
    """Opinions on a sample that nobody took back, in the order in which they were given."""
    rows = sorted(view.rows("opinion", sample=sample, state="given"), key=lambda row: str(row["opinion"]))
    return tuple(
        SignedOpinion(load(view, Opinion, row["record"]), read_signature(signed))
        for row in rows
        for signed in view.rows("signature", digest=row["record"])
    )


def opinions_about(view: Reading, sample: str, cited: Iterable[str]) -> tuple[SignedOpinion, ...]:
    """Opinions for a certificate that cites these results. Raises Stopped where one is about results that changed."""
    found, results = opinions_of(view, sample), set(cited)
    refusals = []
    for one in found:
        if not set(one.opinion.results) <= results:
            what = f"a result it is about is another now; it was given by {one.opinion.person}."
            remedy = "An approver takes it back: `benchseal opinion withdraw`. Give it anew where it still holds."
            refusals.append(Refusal("opinion.results-changed", one.opinion.opinion, what, remedy))
    if refusals:
        raise Stopped(*refusals)
    return found
