"""Who works at the invented laboratory."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.demo.calendar import ZONE
from benchseal.records.evidence import Laboratory
from benchseal.records.people import Role


@dataclass(frozen=True, slots=True)
class Someone:
    """One invented person. task: what they do in the story."""

    person: str
    printed_name: str
    roles: tuple[Role, ...]
    task: str


LABORATORY = Laboratory("Tern Quay Laboratory", "4 Tern Quay, Sandling Harbour (invented)", ZONE)

PEOPLE: tuple[Someone, ...] = (
    Someone(
        "p-sil.penhallow", "Sil Penhallow", (Role.ADMINISTRATOR,), "keeps accounts and settings, touches no result"
    ),
    Someone("p-maren.holt", "Maren Holt", (Role.ANALYST,), "weighs in for the assay and the ware; runs the flame"),
    Someone("p-tobias.quill", "Tobias Quill", (Role.ANALYST,), "digests; runs furnace, cold vapour and hydride"),
    Someone("p-edda.farrow", "Edda Farrow", (Role.REVIEWER,), "reviews every run"),
    Someone("p-ruth.calloway", "Ruth Calloway", (Role.APPROVER,), "approves documents and releases certificates"),
    Someone("p-jonas.wick", "Jonas Wick", (Role.APPROVER,), "the second approver: investigations, releases"),
)
FLAME_ANALYST, TRACE_ANALYST = "p-maren.holt", "p-tobias.quill"
