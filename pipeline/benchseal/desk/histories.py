"""Questions over time: what runs gave, read from derived rows. Of each run the calculation in force counts.

That is the last reviewed one; of a run never reviewed its latest, so that a chart serves at the bench as well.
Cancelled runs are left out. Runs that gave no results are not: a check that failed belongs on its chart.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from benchseal.compute.history_chart import Chart, Value, chart_of
from benchseal.compute.history_sensitivity import Curve, sensitivity_value
from benchseal.compute.run_numbers import exact_text, fraction_of
from benchseal.desk.reading import all_entries, load
from benchseal.documents.times import read_date
from benchseal.identity.names import person_id
from benchseal.problems import Finding, Notice, Problem, Refusal, Stopped
from benchseal.records.expected_units import expected_unit
from benchseal.records.method import Method
from benchseal.records.results import Calibration
from benchseal.records.shape import record_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.compute.control_chart import RuleSet
    from benchseal.store.protocol import Reading, Row

LOTS_JOINED = " + "  # of a second source: what it is held against, and itself
_EVERY_RUN = frozenset({"calibration", "replicates"})  # judged in every run, by no rule of ``checks``


@dataclass(frozen=True, slots=True)
class Asked:
    """What a question is about; empty text: not narrowed. first, last: days ``YYYY-MM-DD``, both included."""

    method: str
    rule: str = ""
    instrument: str = ""
    lot: str = ""
    first: str = ""
    last: str = ""

    def shows(self, value: Value) -> bool:
        """Whether a value lies in the part asked for; limits and rules look at all of them."""
        day = value.measured_at[:10]
        return (
            (not self.lot or self.lot in value.lot.split(LOTS_JOINED))
            and (not self.first or day >= self.first)
            and (not self.last or day <= self.last)
        )


@dataclass(frozen=True, slots=True)
class Series:
    """One chart and what it is of: a rule of a method on one instrument. kind, rule: empty for the sensitivity."""

    rule: str
    kind: str
    instrument: str
    chart: Chart

    @property
    def where(self) -> str:
        """What the chart is of, in words."""
        return f"{self.rule or 'sensitivity'} on {self.instrument}"

    @property
    def named(self) -> str:
        """The rule, and its kind where the rule is not simply called by it."""
        kind = self.kind.replace("_", " ")
        return self.rule if kind == self.rule.replace("-", " ").replace("_", " ") else f"{self.rule} ({kind})"


def check_series(view: Reading, asked: Asked, sets: Sequence[RuleSet]) -> tuple[Series, ...]:
    """Charts of the checks of a method, one for each rule and instrument. Raises Stopped for what is not there.

    Without a rule named: those the method lists, not what is judged in every run.
    """
    _require_known(view, asked)
    found: dict[tuple[str, str, str], list[Value]] = {}
    met: dict[str, None] = {}
    for row, version in _calculations(view, asked):
        for place, check in enumerate(_read_checks(row)):
            met[check["rule"]] = None
            if check["rule"] == asked.rule or (not asked.rule and check["check"] not in _EVERY_RUN):
                key = (check["rule"], check["check"], row["instrument"])
                method = load(view, Method, row["method_value"])
                found.setdefault(key, []).append(_check_value(row, version, place, check, method))
    if asked.rule and not found:
        _stop_at(_rule_unknown(view, asked, met))
    return tuple(Series(*key, chart_of(values, sets, f"{key[0]} on {key[2]}")) for key, values in found.items())


def sensitivity_series(view: Reading, asked: Asked, sets: Sequence[RuleSet]) -> tuple[Series, ...]:
    """Charts of the sensitivity of a method, one for each instrument. Raises Stopped for what is not there."""
    _require_known(view, asked)
    found: dict[str, list[Value]] = {}
    for row, version in _calculations(view, asked):
        found.setdefault(row["instrument"], []).append(sensitivity_value(_curve(view, row, version)))
    return tuple(
        Series("", "", name, chart_of(values, sets, f"sensitivity on {name}")) for name, values in found.items()
    )


def runs_of(view: Reading, **where: str) -> list[Row]:
    """Rows of runs in order of measurement."""
    return sorted(view.rows("run", **where), key=lambda row: (row["measured_at"], len(row["run"]), row["run"]))


def require_instrument(view: Reading, name: str) -> None:
    """Raises Stopped where no such instrument is registered."""
    _stop_at(_instrument_unknown(view, name))


def require_method(view: Reading, name: str) -> list[Row]:
    """Every version of a method, oldest first. Raises Stopped where there is none."""
    rows = view.rows("document", kind="method", id=name)
    _stop_at(_method_unknown(name, rows))
    return sorted(rows, key=lambda row: int(row["version"]))


def require_person(view: Reading, name: str) -> str:
    """The person of a user id, written with or without ``p-``. Raises Stopped where nobody of it was ever enrolled."""
    person = person_id(name)
    if not isinstance(person, str) or view.row("person", person=person) is None:
        what = "nobody of this id is enrolled."
        raise Stopped(Refusal("person.unknown", name, what, "See `benchseal person list`."))
    return person


def acts_of(view: Reading, name: str) -> list[tuple[int, str, str, str, str]]:
    """Entry, time, kind, subject and meaning of the signature of all that a person did or signed, oldest first."""
    found = []
    for entry in all_entries(view):
        signature = entry.facts.get("signature")
        statement = signature.get("statement") if isinstance(signature, dict) else None
        signed = isinstance(statement, dict) and statement.get("person") == name
        if entry.actor == name or signed:
            meaning = str(statement["meaning"]) if signed and isinstance(statement, dict) else ""
            found.append((entry.seq, entry.at, entry.kind, entry.subject, meaning))
    return found


def _calculations(view: Reading, asked: Asked) -> Iterator[tuple[Row, int]]:
    """Calculations that count, each with the version of its run it belongs to."""
    counts = {
        (row["run"], row["reviewed_work"] if row["reviewed_version"] else row["work"]): (
            row["reviewed_version"] or row["version"]
        )
        for row in view.rows("run", method=asked.method)
        if row["state"] != "cancelled"
    }
    where = {"method": asked.method, "instrument": asked.instrument}
    for row in view.rows("calculation", **{name: value for name, value in where.items() if value}):
        if (row["run"], row["work"]) in counts:
            yield row, counts[row["run"], row["work"]]


def _read_checks(row: Row) -> list[dict[str, Any]]:
    try:
        return cast("list[dict[str, Any]]", json.loads(row["checks"]))
    except ValueError as fault:
        raise Stopped(_damaged(row, fault)) from None


def _check_value(row: Row, version: int, place: int, check: dict[str, Any], method: Method) -> Value:
    """Of a check made on a customer's sample percent and verdict only."""
    hidden, unit, positions = check["made_on_sample"], check["unit"], check["positions"]
    second = row["second_lot"] if check["check"] == "second_source" else ""
    compared = check["expected"] and not hidden and unit not in {"", "%"}
    expects = expected_unit(check["check"], method.solution_unit, furnace=method.technique == "furnace")
    return Value(
        run=row["run"],
        version=version,
        place=place,
        position=positions[0] if len(positions) == 1 and not hidden else 0,
        measured_at=row["measured_at"],
        lot=LOTS_JOINED.join(lot for lot in (row["lot"], second) if lot),
        found=check["found"] if not hidden or unit == "%" else "",
        unit=unit,
        entry=row["seq"],
        basis=exact_text(fraction_of(check["expected"])) if compared else "",
        expected="" if hidden else check["expected"],
        low=check["low"],
        high=check["high"],
        verdict=check["verdict"],
        why="" if hidden else check["why"],
        expected_unit=expects if check["expected"] and not hidden else "",
    )


def _curve(view: Reading, row: Row, version: int) -> Curve:
    method = load(view, Method, row["method_value"])
    try:
        calibration = record_of(Calibration, json.loads(row["calibration"]))
    except ValueError as fault:
        raise Stopped(_damaged(row, fault)) from None
    return Curve(row["run"], version, row["measured_at"], row["lot"], row["seq"], method, calibration)


def _damaged(row: Row, fault: ValueError) -> Finding:
    remedy = "Stop work, keep this copy, and run `benchseal verify --all`."
    return Finding("integrity.derived-row", f"calculation {row['run']}", f"it cannot be read: {fault}.", remedy)


def _require_known(view: Reading, asked: Asked) -> None:
    _stop_at(
        (
            *_method_unknown(asked.method, view.rows("document", kind="method", id=asked.method)),
            *(_instrument_unknown(view, asked.instrument) if asked.instrument else ()),
            *(_lot_unknown(view, asked.lot) if asked.lot else ()),
            *_days(asked),
        )
    )


def _stop_at(found: Iterable[Notice]) -> None:
    notices = tuple(found)
    if notices:
        raise Stopped(*notices)


def _method_unknown(name: str, rows: Sequence[Row]) -> tuple[Refusal, ...]:
    what = "there is no method of this id."
    return () if rows else (Refusal("document.unknown", name, what, "See `benchseal document list`."),)


def _rule_unknown(view: Reading, asked: Asked, met: dict[str, None]) -> tuple[Refusal, ...]:
    """met: rules that left values, which a version no longer in force may have had."""
    methods = view.rows("document", kind="method", id=asked.method)
    known = {rule.id: None for row in methods for rule in load(view, Method, row["value"]).checks}
    if asked.rule in known:
        return ()
    what = f"{asked.method} has no such check; it has {', '.join(known | met) or 'none'}."
    return (Refusal("history.rule-unknown", asked.rule, what, "Name one of these."),)


def _instrument_unknown(view: Reading, name: str) -> tuple[Refusal, ...]:
    what = "no instrument of this name is registered."
    known = view.row("instrument", instrument=name)
    return () if known else (Refusal("history.instrument-unknown", name, what, "See `benchseal instrument list`."),)


def _lot_unknown(view: Reading, name: str) -> tuple[Refusal, ...]:
    what = "no standard lot of this name is registered."
    known = view.row("standard_lot", lot=name)
    return () if known else (Refusal("history.lot-unknown", name, what, "See `benchseal standard list`."),)


def _days(asked: Asked) -> tuple[Problem, ...]:
    wrong = tuple(
        Problem("history.date", option, f"{text!a} is no day written as 2026-11-25.", "Write year, month, day.")
        for option, text in (("--from", asked.first), ("--to", asked.last))
        if text and read_date(text, "YYYY-MM-DD") != text
    )
    if not wrong and asked.first and asked.last and asked.first > asked.last:
        what = f"--from {asked.first} is later than --to {asked.last}."
        return (Problem("history.date-order", "--from", what, "Give the earlier day first."),)
    return wrong
