"""Figures of a lot before its certificate: reviewed ones only, marked as what they are, and who got them on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.certificate.evidence import PROGRAM
from benchseal.certificate.preliminary import render_preliminary
from benchseal.desk.acting import Receipt
from benchseal.desk.asked import specification_in_force
from benchseal.desk.gathering import figures_known
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.renderer import rendered
from benchseal.desk.runs import require_reason
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.evidence import Laboratory
from benchseal.records.ids import preliminary_number
from benchseal.records.preliminary import Figure, NotYet, Preliminary
from benchseal.records.registers import Customer, Sample
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_certificates import GivePreliminary
    from benchseal.store.protocol import Reading, Row

LONGEST_NAME = 200


def give_preliminary(acting: Acting, act: GivePreliminary) -> Receipt:
    """Put on record which figures go to whom. Raises Stopped: none is there, or the certificate is issued."""
    require_reason(act.reason, "certificate preliminary")
    given_to = _named(act.given_to)
    view = acting.tx
    sample_row = sample_of_lot(view, act.lot)
    _require_not_issued(view, sample_row)
    year = acting.moment.year
    count = acting.count(f"preliminary/{year}")
    record = _record(acting, sample_row, preliminary_number(year, count), given_to, act.reason.strip())
    kept = view.keep(record_bytes(record))
    acting.write(
        "preliminary.given",
        f"preliminary/{record.number}",
        facts={
            "sample": sample_row["sample"],
            "lot": sample_row["lot"],
            "customer": sample_row["customer"],
            "given_to": given_to,
            "year": year,
            "count": count,
        },
        digests={"figures": kept},
        reason=act.reason.strip(),
    )
    lacking = [f"not yet: {one.requirement.element} ({one.why})" for one in record.not_yet]
    said = (
        f"{record.number}: {len(record.figures)} reviewed figures of lot {sample_row['lot']} for {given_to}.",
        *lacking,
        "It is no certificate. Once that is released, tell whoever got this.",
    )
    return Receipt(said, {"number": record.number, "figures": len(record.figures), "not_yet": len(record.not_yet)})


def preliminary_pdf(view: Reading, number: str) -> bytes:
    """The paper, made from its record; the same bytes each time. Raises Stopped for a number nobody gave."""
    row = view.row("preliminary", number=number)
    if row is None:
        remedy = "See `benchseal certificate list --preliminary`."
        raise Stopped(Refusal("preliminary.unknown", number, "there is no such paper.", remedy))
    return rendered(render_preliminary, load(view, Preliminary, row["figures"]))


def void_lines(view: Reading, sample: str) -> Iterator[str]:
    """Who holds preliminary figures of a sample whose certificate is released."""
    for row in view.rows("preliminary", sample=sample):
        yield f"{row['number']} is void now. Tell {row['given_to']}, who got it on {row['at'][:10]}."


def state_of(view: Reading, row: Row) -> str:
    """``given``, or ``void`` once a certificate of the sample was issued."""
    return "void" if _issued(view, row["sample"]) else "given"


def _named(text: str) -> str:
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        what = f"it says {'nothing' if not name else f'{len(name)} characters'}; due: 1 to {LONGEST_NAME}, printable."
        raise Stopped(Problem("preliminary.recipient", "--to", what, "Say who gets the figures: name and function."))
    return name


def _require_not_issued(view: Reading, sample_row: Row) -> None:
    issued = _issued(view, sample_row["sample"])
    if issued:
        where, what = f"lot {sample_row['lot']}", f"certificate {issued[0]} is issued."
        raise Stopped(Refusal("preliminary.issued", where, what, "Send the certificate."))


def _issued(view: Reading, sample: str) -> list[str]:
    states = {"sealing", "released", "superseded", "withdrawn"}
    return [row["number"] for row in view.rows("certificate", sample=sample) if row["state"] in states]


def _record(acting: Acting, sample_row: Row, number: str, given_to: str, reason: str) -> Preliminary:
    view = acting.tx
    site = view.row("site", ledger=acting.site.ledger)
    customer = view.row("customer", customer=sample_row["customer"])
    if site is None or customer is None:
        raise AssertionError("a sample is registered for a known customer of a founded site")
    figures: list[Figure] = []
    not_yet: list[NotYet] = []
    for requirement, found in figures_known(view, sample_row):
        if isinstance(found, Refusal):
            not_yet.append(NotYet(requirement, found.what))
        else:
            run = view.row("run", run=found[0])
            if run is None:
                raise AssertionError(f"{found[0]} was found a moment ago")
            figures.append(Figure(found[0], int(run["reviewed_version"]), found[1]))
    if not figures:
        where = f"lot {sample_row['lot']}"
        what = f"none of its {len(not_yet)} determinations has a reviewed figure: {_whys(not_yet)}."
        raise Stopped(Refusal("preliminary.none", where, what, "Have its runs reviewed first."))
    ref, specification = specification_in_force(view, sample_row["specification"])
    return Preliminary(
        schema="preliminary/1",
        number=number,
        laboratory=Laboratory(site["name"], site["address"], site["zone"]),
        customer=load(view, Customer, customer["record"]),
        sample=load(view, Sample, sample_row["record"]),
        specification=specification,
        specification_ref=ref,
        given_to=given_to,
        reason=reason,
        figures=tuple(figures),
        not_yet=tuple(not_yet),
        program=PROGRAM,
        at=acting.at,
        paper=rules_in_force(view).paper,
    )


def _whys(not_yet: list[NotYet]) -> str:
    """Each line with what is in its way, one after the other in one sentence."""
    return "; ".join(f"{one.requirement.element}: {one.why.rstrip('.')}" for one in not_yet)
