"""Who sampled, held against what the site alone knows: its own name, and who is enrolled here.

The page and what is due go by the register's words (``certificate.sampler``). Words that name somebody of this
laboratory without saying so would be printed as somebody else's sampling: they are refused, not guessed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.sampler import same_name, sampler, sampler_of
from benchseal.problems import Problem, Stopped

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence
    from benchseal.store.protocol import Reading


def require_sampler_plain(view: Reading, evidence: Evidence) -> None:
    """Raises Stopped where who sampled is of this laboratory and is not named as that."""
    facts = evidence.certificate
    said = facts.sample.row.sampled_by
    if sampler_of(evidence) != "other":
        return
    ours = [row["name"] for row in view.rows("site") if sampler(said, row["name"], facts.customer) == "laboratory"]
    ours += [
        row["person"]
        for row in view.rows("person")
        if same_name(said, row["printed_name"])
        or same_name(said, row["person"])
        or same_name(f"p-{said}", row["person"])
    ]
    if ours:
        raise Stopped(
            Problem(
                code="certificate.sampler-ours",
                where=f"sample {facts.sample.sample}",
                what=f"sampled_by says '{said}', which is {ours[0]} of this laboratory; it does not name that.",
                remedy=f"Write '{said}, the laboratory'; or of whom somebody of the same name is "
                "(`benchseal sample correct`). Then draft the certificate again.",
            )
        )
