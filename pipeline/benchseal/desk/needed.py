"""Runs that an investigation needs: cancelling one would take a result outside its limit, or a retest, away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.problems import Refusal, Stopped
from benchseal.records.investigation import INVALIDATED

if TYPE_CHECKING:
    from benchseal.store.protocol import Reading


def require_not_needed(view: Reading, run: str) -> None:
    """Raise Stopped where an investigation holds a result of the run, unless it was invalidated for a cause."""
    names = []
    for mark in view.rows("investigation_result", run=run):
        case = view.row("investigation", investigation=mark["investigation"])
        if case is None or case["means"] == "notify":
            continue
        set_aside = mark["kind"] == "original" and case["outcome"] == INVALIDATED
        if not set_aside:
            names.append(f"{mark['investigation']} ({mark['kind']})")
    if names:
        what = f"{', '.join(dict.fromkeys(names))} holds a result of it."
        remedy = "All results of an investigation count. An error that made one is shown there, with its evidence."
        raise Stopped(Refusal("run.investigated", run, what, remedy))
