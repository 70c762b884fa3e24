"""Working standards from a lot on record: looked up, refused where the lot is not in use, laid out for paper."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.certificate.plan_page import PlanPage
from benchseal.certificate.run_report import Column, Facts, Part, Table, Words
from benchseal.desk.clock import stamp
from benchseal.desk.in_force import in_force, zone_of
from benchseal.desk.reading import load
from benchseal.documents.sheets import read_glassware
from benchseal.identity.statements import local_time
from benchseal.planning.working_standards import worksheet_of
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.method import Glassware, Method
from benchseal.records.quantities import decimal_of, is_plain_decimal, plain, round_to_significant, unit_shown
from benchseal.records.registers import StandardLot

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.site import Site
    from benchseal.planning.working_standards import Chain, StandardsWorksheet
    from benchseal.records.method import UncertaintyPlan
    from benchseal.store.protocol import Reading

CAUTION = (
    "A worksheet is arithmetic. How stock solutions and acids are handled is said by the laboratory's own procedure, "
    "safety data sheets and local rules, which prevail; what is made is labelled with lot, level, acid, day and expiry."
)
_LEVELS = (
    Column("wanted", 12, figures=True),
    Column("pipette to flask, mL", 32),
    Column("holds", 16, figures=True),
    Column("u of the chain, %", 13, figures=True),
    Column("u with the stock, %", 13, figures=True),
    Column("u", 14, figures=True),
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for. levels: none named: the method's standards. ware, ware_source: a sheet of pieces, or empty."""

    lot: str
    method: str
    levels: tuple[str, ...]
    least_ml: str
    ware: bytes = b""
    ware_source: str = ""


def worksheet(site: Site, view: Reading, asking: Wanted) -> tuple[Method, StandardsWorksheet]:
    """The worksheet. Raises Stopped with everything that keeps it from being made."""
    lot, method, levels, least_ml = asking.lot, asking.method, asking.levels, asking.least_ml
    row, of = view.row("standard_lot", lot=lot), in_force(view, "method", method)
    problems = [*_unfit_numbers("--at", levels), *_unfit_numbers("--least-ml", [least_ml] if least_ml else [])]
    if row is None:
        problems.append(Problem("standard.unknown", lot, "there is no such lot.", "See `benchseal standard list`."))
    if isinstance(of, str):
        what = f"it is not in force: {of}."
        problems.append(Problem("plan.method-unknown", method, what, "See `benchseal document list`."))
    pieces = read_glassware(asking.ware, asking.ware_source) if asking.ware_source else ()
    problems += [one for one in pieces if isinstance(one, Problem)]
    if problems or row is None or isinstance(of, str):
        raise Stopped(*problems)
    stock, asked = load(view, StandardLot, row["record"]), load(view, Method, of["value"])
    at_hand = tuple(one for one in pieces if isinstance(one, Glassware)) or asked.uncertainty.glassware
    ware = replace(asked.uncertainty, glassware=at_hand)
    if refused := [*_not_in_use(site, view, stock), *_unlike(stock, asked, ware)]:
        raise Stopped(*refused)
    wanted = levels or tuple(standard.concentration for standard in asked.standards)
    found = worksheet_of(stock, wanted, asked.solution_unit, ware, least_ml)
    if isinstance(found, tuple):
        raise Stopped(*found)
    return asked, found


def worksheet_lines(found: StandardsWorksheet) -> Iterator[str]:
    """The worksheet in words."""
    lot, unit = found.lot, unit_shown(found.unit)
    yield f"{lot.lot}: {lot.element} {lot.value} {unit_shown(lot.unit)}, u {lot.u_percent} %"
    yield f"{lot.maker}, certificate {lot.certificate}, in use until {lot.expires_on}"
    if lot.prepared_as:
        yield f"diluted as {lot.prepared_as} {unit_shown(lot.unit)}; what solutions hold follows the certificate"
    if found.common:
        yield f"first, for all: {_first(found)}"
    for one in found.standards:
        own = one.steps[len(found.common) :]
        yield (
            f"  {one.wanted} {unit}: {_chain(own)}; holds {one.holds} {unit}, u {_two(one.u)} {unit} "
            f"({_two(one.u_chain_percent)} % of the chain, {_two(one.u_percent)} % with the stock)"
        )
    yield CAUTION


def worksheet_page(site: Site, view: Reading, method: Method, found: StandardsWorksheet, person: str) -> PlanPage:
    """The worksheet for paper."""
    own = view.row("site", ledger=site.ledger) or {}
    lot, unit, now = found.lot, unit_shown(found.unit), stamp(site.clock())
    acid = f"{method.conditions.acid}, {method.conditions.acid_percent} % (v/v), in every solution"
    facts = (
        ("stock", f"{lot.lot}: {lot.element} {lot.value} {unit_shown(lot.unit)}, u {lot.u_percent} %"),
        *((("diluted as", f"{lot.prepared_as} {unit_shown(lot.unit)}"),) if lot.prepared_as else ()),
        ("maker, certificate", f"{lot.maker}, {lot.certificate}"),
        ("in use", f"{lot.in_use_from} to {lot.expires_on}"),
        ("for", f"{method.title} ({method.id})"),
        ("acid", acid if method.conditions.acid_percent else "as the method says"),
        *((("first, for all", _first(found)),) if found.common else ()),
    )
    rows = tuple(
        (
            f"{one.wanted} {unit}",
            _chain(one.steps[len(found.common) :]),
            f"{one.holds} {unit}",
            _two(one.u_chain_percent),
            _two(one.u_percent),
            f"{_two(one.u)} {unit}",
        )
        for one in found.standards
    )
    return PlanPage(
        title="Working standards",
        subject=lot.lot,
        laboratory=str(own.get("name", "")),
        address=str(own.get("address", "")).replace("\n", ", "),
        program=f"benchseal {__version__}",
        made_at=f"{now[:19]}Z",
        about=(("made", f"{local_time(now, zone_of(view, site).key)} by {person}"),),
        parts=(
            Part("Stock", (Facts(facts),)),
            Part("Levels", (Table("Dilutions, and standard uncertainties (k = 1)", _LEVELS, rows),)),
            Part("Made", (_done(),)),
            Part("Cautions", (Words((CAUTION, *method.cautions)),)),
        ),
    )


def _done() -> Facts:
    """Room for the hand that makes them."""
    return Facts((("made by, on", "." * 60), ("pipettes, flasks", "." * 60), ("use before", "." * 60)))


def _first(found: StandardsWorksheet) -> str:
    times = f", made {found.fillings} times" if found.fillings > 1 else ""
    return f"{_chain(found.common)}; {found.taken_ml} mL of it are taken{times}"


def _two(text: str) -> str:
    """An uncertainty to two significant digits, rounded up at the half."""
    return plain(round_to_significant(decimal_of(text), 2, "half_up"))


def _chain(steps: Chain) -> str:
    return ", then ".join(f"{step.aliquot_ml} mL to {step.final_ml} mL" for step in steps)


def _unfit_numbers(option: str, texts: Sequence[str]) -> Iterator[Problem]:
    for text in texts:
        if not is_plain_decimal(text) or decimal_of(text) <= 0:
            yield Problem("standard.number", option, f"{text!r} is no plain number above zero.", "Write it as 0.50.")


def _not_in_use(site: Site, view: Reading, lot: StandardLot) -> Iterator[Refusal]:
    today = site.clock().astimezone(zone_of(view, site)).date().isoformat()
    if today > lot.expires_on:
        what = f"it expired on {lot.expires_on}; today is {today}."
        yield Refusal("standard.expired", lot.lot, what, "Take a lot that is in use.")
    if today < lot.in_use_from:
        what = f"it comes into use on {lot.in_use_from}; today is {today}."
        yield Refusal("standard.not-yet", lot.lot, what, "Take a lot that is in use.")


def _unlike(lot: StandardLot, method: Method, ware: UncertaintyPlan) -> Iterator[Refusal]:
    if lot.element != method.element:
        what = f"it is of {lot.element}, {method.id} measures {method.element}."
        yield Refusal("standard.other-element", lot.lot, what, "Name a lot of the element.")
    if not ware.glassware:
        what = "it lists no pipettes and flasks, and no sheet of them is given."
        yield Refusal(
            "standard.no-ware", method.id, what, "Give those at hand with --ware, or enter them in the method."
        )
