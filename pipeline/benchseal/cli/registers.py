"""The small registers and preparation sheets."""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, file_bytes, reading
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.cases import rows_about
from benchseal.desk.reading import load, result_of, sample_of_lot
from benchseal.problems import Problem, Stopped
from benchseal.records.quantities import unit_shown
from benchseal.records.registers import Customer, Instrument, Sample, StandardLot
from benchseal.records.species import stated_as

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.records.registers import SampleRow
    from benchseal.records.results import WorkedResult


def _add(args: Namespace, register: str) -> int:
    late, profile = getattr(args, "late_because", ""), getattr(args, "profile", "")
    separate = getattr(args, "separate_because", "")
    return do(args, AddRegister(register, file_bytes(args.file), args.file, late, profile, separate))


def add_customers(args: Namespace) -> int:
    """Bring in customers."""
    return _add(args, "customer")


def add_instruments(args: Namespace) -> int:
    """Bring in instruments."""
    return _add(args, "instrument")


def add_standards(args: Namespace) -> int:
    """Bring in standard lots."""
    return _add(args, "standard")


def add_samples(args: Namespace) -> int:
    """Bring in sample register rows."""
    return _add(args, "sample")


def add_preparation(args: Namespace) -> int:
    """Bring in a preparation sheet."""
    balance = file_bytes(args.balance) if args.balance else b""
    data, layout = file_bytes(args.file), args.balance_layout
    if layout and not args.balance:
        what = "it says how the balance's file is read, and none is given."
        raise Stopped(Problem("balance.layout-alone", "--balance-layout", what, "Give the file with --balance."))
    return do(args, AddPreparation(data, args.file, args.late_because, balance, args.balance, layout))


def list_customers(args: Namespace) -> int:
    """Every customer."""
    with reading(args) as (_, view):
        records = [load(view, Customer, row["record"]) for row in view.rows("customer")]
    rows = [(each.customer, each.name, each.address, each.contact) for each in records]
    return show.table(args, ("customer", "name", "address", "contact"), rows, name="customers")


def list_instruments(args: Namespace) -> int:
    """Every instrument."""
    with reading(args) as (_, view):
        records = [load(view, Instrument, row["record"]) for row in view.rows("instrument")]
    columns = ("instrument", "serial", "technique", "zone", "in service from")
    rows = [(each.instrument, each.serial, each.technique, each.zone, each.in_service_from) for each in records]
    return show.table(args, columns, rows, name="instruments")


def list_standards(args: Namespace) -> int:
    """Every standard lot."""
    with reading(args) as (_, view):
        records = [load(view, StandardLot, row["record"]) for row in view.rows("standard_lot")]
    columns = ("lot", "element", "purpose", "value", "unit", "u %", "in use from", "expires on")
    rows = [
        (each.lot, each.element, each.purpose, each.value, each.unit, each.u_percent, each.in_use_from, each.expires_on)
        for each in records
    ]
    return show.table(args, columns, rows, name="standard_lots")


def list_samples(args: Namespace) -> int:
    """Every sample."""
    columns = ("sample", "lot", "customer", "product", "specification")
    with reading(args) as (_, view):
        rows = [[row[column] for column in columns] for row in view.rows("sample")]
    return show.table(args, columns, rows, name="samples")


def show_sample(args: Namespace) -> int:
    """One sample: its register line, portions and results."""
    with reading(args) as (_, view):
        row = sample_of_lot(view, args.sample)
        record = load(view, Sample, row["record"])
        portions = view.rows("portion", sample=row["sample"])
        results = view.rows("result", sample=row["sample"])
        stated = [_stated(result_of(view, each)) for each in results]
        states = {each["run"]: each["state"] for each in view.rows("run")}
        holds = rows_about(view, "hold", row, is_open=1)
    line = record.row
    said = [
        f"{record.sample}: lot {line.lot} of {line.product}, customer {line.customer}",
        f"received {line.received_on}: {line.description}, {line.quantity_received}, {line.condition}",
        f"specification {line.specification}",
        *_register_lines(line),
        *(f"portion {each['portion']} of batch {each['batch']}" for each in portions),
        *(
            f"{each['element']} {each['quantity'].replace('_', ' ')}{on}: "
            + (each["why"] or f"{_phrase(each)}, {each['verdict']}")
            + f" ({each['run']}, {states[each['run']]})"
            for each, on in zip(results, stated, strict=True)
        ),
        *(f"held, {each['element']}: {each['why']}" for each in holds),
    ]
    data = {"sample": row["sample"], "register": asdict(line), "results": results, "portions": portions, "holds": holds}
    return show.lines(args, said, data)


def _register_lines(line: SampleRow) -> list[str]:
    """What the sheet said beside what stands above; the columns every sheet has also where they are empty."""
    own = asdict(line)
    always = ("customer_sample_id", "sampled_on", "sampled_by", "order")
    others = [each.name for each in fields(line) if each.default == "" and own[each.name]]
    return [f"{name.replace('_', ' ')}: {own[name] or 'not stated'}" for name in (*always, *others)]


def _stated(result: WorkedResult | None) -> str:
    return stated_as(result.basis, result.expressed_as) if result else ""


def _phrase(row: dict[str, str]) -> str:
    expanded = f" ± {row['expanded_text']}" if row["expanded_text"] else ""
    return f"{row['value_text']}{expanded} {unit_shown(row['unit'])}"
