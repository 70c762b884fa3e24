"""The list for the bench after a run: what has to be read or prepared again."""

from __future__ import annotations

from dataclasses import asdict
from itertools import groupby
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.files_in import instrument_file
from benchseal.cli.opened import file_bytes, reading, site_of
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_runs import CheckFile
from benchseal.desk.perform import perform
from benchseal.desk.reading import load
from benchseal.problems import Notice, Refusal, Stopped
from benchseal.records.quantities import unit_shown
from benchseal.records.results import RunWork
from benchseal.records.run import Run

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime

    from benchseal.compute.reread import Action, Again, Beside, Reread, Settled
    from benchseal.compute.reread_dilution import Dilution
    from benchseal.compute.reread_keeping import Held
    from benchseal.compute.reread_with import Belongs, Companion, Need, NewRun
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json

_HEADINGS: dict[Action, str] = {
    "measure_run_again": "measure the whole run again",
    "prepare_again": "prepare again",
    "dilute": "dilute and read again",
    "read_again": "read again as it is",
    "complete_record": "nothing to read: complete the record, then calculate again",
}
_VALUES_STAY = " (values stay on record; no certificate is drafted from this run)"
_FURTHER = "one more"
_FAILED = "the run as a whole gives nothing"
_NO_ESTIMATE = {
    "no_number": "the instrument gave no number",
    "above_vertex": "the reading lies above the top of the curve itself",
    "no_curve": "the calibration does not stand",
}
_BELONGS: dict[Belongs, str] = {
    "other_portion": "a result rests on one run{with_of}",
    "unspiked": "unspiked portion of {of}",
    "spiked": "spiked portion of {of}",
    "blank_taken_off": "its blank is taken off, from the same run",
    "required": "the method requires it in every run",
}


def reread(args: Namespace) -> int:
    """What one run leaves to be read or prepared again."""
    from benchseal.compute.reread import reread as listed  # noqa: PLC0415
    from benchseal.desk.rereading import beside, place_of  # noqa: PLC0415

    with reading(args) as (site, view):
        row = view.row("run", run=args.run)
        if row is None:
            what = "there is no such run."
            raise Stopped(Refusal("run.unknown", args.run, what, "See `benchseal run list`."))
        run, work = load(view, Run, row["bound"]), load(view, RunWork, row["work"])
        around_it = beside(view, site.ledger, args.run, run, work)
        lots = {each["sample"]: each["lot"] for each in view.rows("sample")}
        place = place_of(view, site, run)
    found, around, digests = _whole(run, work, listed(run, work, around_it), around_it, place)
    said = [
        f"{row['run']}, version {row['version']}, {row['state']}",
        f"{row['element']} by {row['method']} on {row['instrument']}, {row['measured_at']}",
        *lines(found, around, unit_shown(run.method.solution_unit), lots, digests),
    ]
    data = {"run": row["run"], "open": len(found.open), **asdict(found), "new_run": asdict(around)}
    data["digests"] = [asdict(one) for one in digests]
    return show.lines(args, said, data)


def _whole(
    run: Run, work: RunWork, found: Reread, around_it: Beside, place: tuple[str, datetime]
) -> tuple[Reread, NewRun, tuple[Held, ...]]:
    """The list, what stands around it, and until when its digests hold. place: zone of the instrument, and now."""
    from benchseal.compute.reread_keeping import aged, held  # noqa: PLC0415
    from benchseal.compute.reread_with import new_run  # noqa: PLC0415

    around = new_run(run.method, found.open, around_it.portions, work.calibration.stored)
    digests = held(run, found, around, around_it.portions, place)
    return aged(run.method.digests_keep, found, around_it.portions, place), around, digests


def check(args: Namespace) -> int:
    """What of a file stands and what it leaves to be read again, before it comes in."""
    from benchseal.desk.rereading import beside, place_of  # noqa: PLC0415
    from benchseal.desk.trials import Tried  # noqa: PLC0415

    said: list[str] = []
    data: list[Json] = []
    with site_of(args) as site:
        data_in, source, parts = instrument_file(args.files)
        act = CheckFile(data_in, source, args.layout, batches_named(args, site), parts=parts)
        tried = perform(site, act, *credentials(args, site))
        if not isinstance(tried, Tried):
            raise AssertionError("a look at a file says what it would give")  # noqa: TRY004  a fault of the program
        with site.store.reading() as view:
            lots = {each["sample"]: each["lot"] for each in view.rows("sample")}
            for worked, list_of_it in zip(tried.runs, tried.lists, strict=True):
                run, work = worked.run, worked.work
                around_it, place = beside(view, site.ledger, "", run, work), place_of(view, site, run)
                found, around, digests = _whole(run, work, list_of_it, around_it, place)
                said += [f"{run.method.element} by {run.method.id} on {run.instrument}, {run.measured_at}"]
                said += lines(found, around, unit_shown(run.method.solution_unit), lots, digests)
                told: dict[str, Json] = {"element": run.method.element, "open": len(found.open), **asdict(found)}
                data.append({**told, "digests": [asdict(one) for one in digests]})
    receipt = Receipt((*tried.said, *said), {**tried.data, "reread": [*data]}, tried.notices)
    return show.receipt(args, receipt)


def batches_named(args: Namespace, site: Site) -> tuple[str, ...]:
    """Batches of a sheet that came in before. Raises Stopped for one with rows that are not on record."""
    if not args.preparation:
        return ()
    from benchseal.documents.sheets import read_preparation  # noqa: PLC0415
    from benchseal.records.preparation import Portion  # noqa: PLC0415

    read = read_preparation(file_bytes(args.preparation), args.preparation)
    rows = [row for row in read if isinstance(row, Portion)]
    if len(rows) != len(read):
        raise Stopped(*(each for each in read if isinstance(each, Notice)))
    with site.store.reading() as view:
        new = [row for row in rows if view.row("portion", batch=row.batch, portion=row.portion) is None]
    if new:
        what = f"{len(new)} of its rows are not on record, first {new[0].batch}/{new[0].portion}."
        remedy = "Bring it in with `benchseal preparation add`; a look at a file brings nothing in."
        raise Stopped(Refusal("preparation.not-added", args.preparation, what, remedy))
    return tuple(dict.fromkeys(row.batch for row in rows))


def lines(
    found: Reread, around: NewRun, unit: str, lots: Mapping[str, str], digests: Sequence[Held] = ()
) -> Iterator[str]:
    """The list in words. unit: of concentrations in the solution; lots: sample to its lot."""
    yield from _summary(found)
    yield from map(_digests_of, digests)
    for action, heading in _HEADINGS.items():
        meant = [one for one in found.open if one.action == action]
        failed = found.failures if action == "measure_run_again" else ()
        if meant or failed:
            yield heading if meant or not all(one.takes_values for one in failed) else _FAILED
            yield from (f"  {one.why}{'' if one.takes_values else _VALUES_STAY}" for one in failed)
            yield from _group(meant, unit, lots, told=bool(failed))
            yield from _aim(meant, unit)
    yield from _new_run(around, unit, lots)
    if elsewhere := [one for one in found.again if one.needed and one.value_in]:
        yield "no value here, but one in another run"
        yield from _group(elsewhere, unit, lots, told=False)
    if needless := [one for one in found.again if not one.needed]:
        yield "no value, and none needed: no result of the sample lacks it"
        yield from _group(needless, unit, lots, told=False)
    yield from _information(found, unit)


def _summary(found: Reread) -> Iterator[str]:
    """What is to be done is counted as ``open`` of --json: an entry may have several places, or none."""
    lost, still = sum(len(one.positions) for one in found.again), len(found.open)
    if found.is_done:
        yield "Nothing to read again."
    elif lost:
        yield f"Without a value: {lost} of {found.presented} presented solutions; to be done: {still}."
    elif still:
        yield f"Every presented solution gives a value, and yet to be done: {still}."
    else:
        yield "Every presented solution gives a value, and yet:"


def _digests_of(held: Held) -> str:
    """Until when a batch may be read again, or what is to be done instead."""
    if held.state == "not_said":
        return f"digests of batch {held.batch}: the method does not say how long they hold"
    since = f"{held.keep} after they were made up, {held.portion} the first of them"
    if held.state == "hold":
        return f"digests of batch {held.batch}: hold until {held.until}, {since}"
    return f"digests of batch {held.batch}: hold no longer, until {held.until}, {since}; prepare again, then measure"


def _group(meant: Sequence[Again], unit: str, lots: Mapping[str, str], *, told: bool) -> Iterator[str]:
    """Rows in presented order, the reason once for neighbours that share it. told: it stands above."""
    width = max((len(one.portion or _FURTHER) for one in meant), default=0)
    for why, own in groupby(meant, key=lambda one: one.why):
        if not told:
            yield f"  {_reason(why)}"
        for one in own:
            yield _row(one, width, lots)
            if one.needed and not one.value_in:
                yield from _advice(one, unit)


def _aim(meant: Sequence[Again], unit: str) -> Iterator[str]:
    suggested = [one.dilution for one in meant if one.dilution is not None]
    for target in dict.fromkeys(one.target for one in suggested):
        yield f"  aim: the middle of the standards, {target} {unit} (common practice, no source)"
    if any(one.estimate for one in suggested):
        yield "  an estimate lies beyond the curve: it serves to choose a dilution and is no value"


def _reason(why: str) -> str:
    """A reason without the advice that the heading gives."""
    return why.removesuffix("; dilute and read again").removesuffix("; read again")


def _row(one: Again, width: int, lots: Mapping[str, str]) -> str:
    place = ", ".join(map(str, one.positions)) or "-"
    label = one.portion or _FURTHER
    kind = one.kind.replace("_", " ")
    of = f" of {one.sample} (lot {lots.get(one.sample, '?')})" if one.sample else ""
    diluted = f", diluted {one.extra_dilution} times" if one.extra_dilution != "1" and one.action != "dilute" else ""
    elsewhere = f"; value in {', '.join(one.value_in)}" if one.value_in else ""
    return f"    {place:>4}  {label:<{width}}  {kind}{of}{diluted}{elsewhere}"


def _advice(one: Again, unit: str) -> Iterator[str]:
    if one.over and one.code != "reading.over-range":
        yield "          it reads above the highest standard as well"
    if one.dilution is not None:
        yield f"          {_dilution_words(one.dilution, unit)}"
    elif one.background:
        yield "          more background than the method allows: dilute, or change the programme"
    if one.code == "reading.contradicted":
        yield "          where a cause is found (another tube, another factor): benchseal run exclude"
    if one.code == "dilution.disagrees":
        yield "          dilute until two dilutions agree (common practice, no source), or as your procedure says"


def _dilution_words(of: Dilution, unit: str) -> str:
    if not of.estimate:
        return f"no estimate: {_NO_ESTIMATE.get(of.no_estimate, '')}; the aim takes a factor above {of.more_than}"
    steps = ", then ".join(f"{step.aliquot_ml} mL to {step.final_ml} mL" for step in of.steps)
    made = f" ({steps})" if steps else ""
    return f"estimate about {of.estimate} {unit}: dilute {of.factor} times{made}, reads about {of.lands_at} {unit}"


def _new_run(around: NewRun, unit: str, lots: Mapping[str, str]) -> Iterator[str]:
    if around.companions:
        yield "read with them"
        width = max(len(one.portion) for one in around.companions)
        yield from (f"    {'':>4}  {one.portion:<{width}}  {_companion(one, lots)}" for one in around.companions)
    if around.standards:
        yield "around them, in the new run"
        yield f"  calibration of its own, {around.standards} standards"
        if around.curve_of:
            since = around.measured_at.replace("T", " ").replace("Z", " UTC")
            yield f"  or, for {around.valid_hours} hours from {since} on, the curve of {around.curve_of} again:"
            yield "    its correction standard with a blank beside it, then a check standard and a check blank"
        if around.bracketing_window_percent:
            yield "  bracket standards before and after the portions, of at least two concentrations around each one's,"
            yield f"    none farther than {around.bracketing_window_percent} % from it"
        yield from (f"  {_need(one, unit)}" for one in around.needs)


def _companion(one: Companion, lots: Mapping[str, str]) -> str:
    of = f" of {one.sample} (lot {lots.get(one.sample, '?')})" if one.sample else f" of {one.batch}"
    why = "; ".join(_belongs(reason, labels) for reason, labels in one.reasons)
    return f"{one.kind.replace('_', ' ')}{of}: {why}"


def _belongs(reason: Belongs, labels: Sequence[str]) -> str:
    of = ", ".join(labels)
    return _BELONGS[reason].format(of=of, with_of=f", with {of}" if of else "")


def _need(need: Need, unit: str) -> str:
    from benchseal.compute.run_words import CHECK_NAMES  # noqa: PLC0415

    name = CHECK_NAMES[need.check]
    if need.batch:
        return f"{name}: required, and batch {need.batch} has none on record"
    if need.check == "dilution_test":
        return f"{name}: a portion read at a second, higher dilution as well"
    found = f"{name}, {need.expected} {unit}" if need.expected else name
    words = [
        "before and after" if need.brackets else "",
        f"at most {need.every} presented solutions between two" if need.every else "",
        "and at the end" if need.at_end else "",
    ]
    return ": ".join(part for part in (found, ", ".join(word for word in words if word)) if part)


def _information(found: Reread, unit: str) -> Iterator[str]:
    if found.settled:
        later = [one for one in found.settled if one.by_position > one.position]
        yield from _settled("read again in this run already", later)
        earlier = [one for one in found.settled if one.by_position < one.position]
        yield from _settled("read before in this run, and that reading counts", earlier)
    if found.near_top:
        yield "near the top: above 90 % of the highest standard, where EPA 200.9, 11.4.9 dilutes (information)"
        yield from (
            f"    {each.position:>4}  {each.portion}  {_short(each.concentration)} {unit}" for each in found.near_top
        )


def _settled(heading: str, rows: Sequence[Settled]) -> Iterator[str]:
    if rows:
        yield heading
    for one in rows:
        diluted = f", diluted {one.by_dilution} times," if one.by_dilution != "1" else ""
        counts = f"position {one.by_position}{diluted} counts"
        yield f"    {one.position:>4}  {one.portion}  {_reason(one.why)}: {counts}"


def _short(text: str) -> str:
    from benchseal.compute.run_numbers import shown  # noqa: PLC0415

    return shown(text)
