"""Corrections: first what one changes, then, with the figures of what was shown, the correction itself."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.correction_words import effect_lines
from benchseal.cli.opened import admitted, do, site_of
from benchseal.cli.secrets_in import one_more
from benchseal.desk.acts_corrections import (
    Correct,
    CorrectCustomer,
    CorrectPreparation,
    CorrectSample,
    CorrectStandard,
    ExcludePositions,
    JustifyCertificate,
    NoteNotMeasured,
    RejudgeRun,
    RelabelPositions,
)
from benchseal.desk.admission import admit
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.in_force import bring_in_force
from benchseal.desk.perform import perform
from benchseal.desk.preliminary_told import holders_of
from benchseal.desk.runs import require_reason
from benchseal.desk.texts import in_kept_form
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from benchseal.desk.correcting import Plan
    from benchseal.desk.site import Site


def preparation(args: Namespace) -> int:
    """Put a preparation row right."""
    return _correct(args, CorrectPreparation(args.subject, tuple(args.sets), args.reason, args.effect))


def standard(args: Namespace) -> int:
    """Put a standard lot right."""
    return _correct(args, CorrectStandard(args.subject, tuple(args.sets), args.reason, args.effect))


def sample(args: Namespace) -> int:
    """Put the words of a register line right."""
    return _correct(args, CorrectSample(args.subject, tuple(args.sets), args.reason, args.effect))


def customer(args: Namespace) -> int:
    """Enter another name, address or contact of a customer."""
    return _correct(args, CorrectCustomer(args.subject, tuple(args.sets), args.reason, args.effect))


def relabel(args: Namespace) -> int:
    """Say of which sample positions are."""
    sets = (f"{args.position}={args.sample}", *args.also)
    return _correct(args, RelabelPositions(args.run, sets, args.reason, args.effect))


def exclude(args: Namespace) -> int:
    """Leave a position out."""
    return _correct(args, ExcludePositions(args.run, (f"{args.position}={args.cause}",), args.reason, args.effect))


def not_measured(args: Namespace) -> int:
    """Say why a sample was not measured."""
    return _correct(args, NoteNotMeasured(args.run, (f"{args.sample}={args.cause}",), args.reason, args.effect))


def rejudge(args: Namespace) -> int:
    """Judge a run by the documents in force now."""
    return _correct(args, RejudgeRun(args.run, tuple(args.documents), args.reason, args.effect))


def justify(args: Namespace) -> int:
    """Sign why an issued certificate may stand."""
    return do(args, JustifyCertificate(args.number, args.reason))


def _correct(args: Namespace, act: Correct) -> int:
    with site_of(args) as site:
        if args.dry_run or not act.effect:
            admitted(Namespace(**{**vars(args), "needs": "session"}), site)
            made = _planned(site, act)
            with site.store.reading() as view:
                holders = holders_of(view, {one.result_id for one in made.effect.results})
            data = {**_data(made), "holders": holders, "done": False}
            return show.lines(args, [*effect_lines(made), *holders], data)
        first = one_more(args)
        admit(site, first)  # nobody unknown learns what a correction would change
        given = (first, one_more(args)) if _planned(site, act).effect.needs_consent else (first,)
        return show.receipt(args, perform(site, act, *given))


def _planned(site: Site, act: Correct) -> Plan:
    require_reason(act.reason, act.subject)
    bring_in_force(site)
    with site.store.reading() as view:
        return plan(view, site.ledger, stamp(site.clock()), wanted_by(in_kept_form(act)))


def _data(made: Plan) -> dict[str, object]:
    return {"effect": plain_of(made.effect), "figures": made.figures, "needs_consent": made.effect.needs_consent}
