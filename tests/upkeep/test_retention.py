"""How long records are kept, and the oldest opened. All invented."""

from __future__ import annotations

import sqlite3
import zlib
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.attacks.test_changed_by_sql import without_triggers
from tests.desk.putting import FLAME, REVIEWER, do, entries, rules

from benchseal.cli.table import COMMANDS
from benchseal.desk.acts_corrections import CorrectSample
from benchseal.desk.acts_registers import AddRegister
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.perform import perform
from benchseal.desk.reading import sample_of_lot
from benchseal.problems import Stopped
from benchseal.records.registers import Customer
from benchseal.records.shape import record_bytes
from benchseal.upkeep.retention import CLASSES, REST, _later, _open, kept, open_oldest

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.upkeep.retention import Kept, Opened


def classes(stage: Stage) -> dict[str, Kept]:
    with stage.site.store.reading() as view:
        return {one.name: one for one in kept(view)}


def opened(stage: Stage) -> dict[str, Opened]:
    return {one.name: one for one in open_oldest(stage.site)}


@pytest.mark.clause("P11 11.10(c)", "A11 17")
def test_every_entry_belongs_to_a_class_with_its_time(stage: Stage) -> None:
    found = classes(stage)
    assert set(found) <= {*CLASSES.values(), REST}
    assert {CLASSES["run"], CLASSES["certificate"], CLASSES["sample"], CLASSES["file"], REST} <= set(found)
    with stage.site.store.reading() as view:
        assert found[CLASSES["run"]].subjects == len(view.rows("run"))
        assert found[CLASSES["certificate"]].subjects == len(view.rows("certificate"))
    assert {one.keep_until for one in found.values()} == {""}
    rules(stage, "retention_years: 10")
    year = int(found[CLASSES["run"]].last[:4])
    assert classes(stage)[CLASSES["run"]].keep_until == found[CLASSES["run"]].last[:10].replace(
        str(year), str(year + 10), 1
    )


def test_of_a_leap_day_the_first_of_march() -> None:
    assert _later("2028-02-29T10:00:00.000Z", 1) == "2029-03-01"
    assert _later("2028-02-29T10:00:00.000Z", 4) == "2032-02-29"
    assert _later("2028-02-29T10:00:00.000Z", 0) == ""


SAMPLE = (
    "lot,product,customer,specification,customer_sample_id,description,condition,quantity_received,received_on,"
    "sampled_on,sampled_by,order,expires_on\n"
    "{lot},Glazed plate,selby,flat-ware,X1,plates,whole,8 plates,{day},,,,{expires}\n"
)


def registered(stage: Stage, lot: str, expires: str) -> str:
    day = f"{stage.site.clock():%Y-%m-%d}"
    sheet = SAMPLE.format(lot=lot, day=day, expires=expires).encode()
    samples = do(stage, AddRegister("sample", sheet, "samples.csv"), FLAME).data["samples"]
    assert isinstance(samples, list)
    return str(samples[0])


@pytest.mark.clause("P211.180(a)")
def test_what_belongs_to_a_lot_is_kept_a_year_beyond_its_expiry(stage: Stage) -> None:
    registered(stage, "C-8", "2040-02-29")
    found = classes(stage)
    assert (found[CLASSES["sample"]].keep_until, found[CLASSES["sample"]].by_expiry) == ("2041-03-01", 1)
    assert {one.keep_until for name, one in found.items() if name != CLASSES["sample"]} == {""}


@pytest.mark.clause("P211.180(a)")
def test_runs_and_certificates_of_a_lot_are_kept_as_long_as_its_sample(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        sample = sample_of_lot(view, "A-1")["sample"]
    act = CorrectSample(sample, ("expires_on=2040-06-30",), "the customer told it later", "")
    with stage.site.store.reading() as view:
        shown = plan(view, stage.site.ledger, stamp(stage.site.clock()), wanted_by(act))
    perform(stage.site, replace(act, effect=shown.figures), stage.key(FLAME), stage.key(REVIEWER))
    found = classes(stage)
    for name in ("sample", "portion", "run", "certificate", "delivery"):
        assert found[CLASSES[name]].keep_until == "2041-06-30", name
    assert found[CLASSES["instrument"]].keep_until == ""


@pytest.mark.refuses("P211.180(a)")
@pytest.mark.parametrize("years", [0, 1, 2])
def test_no_rule_of_the_site_shortens_it(stage: Stage, years: int) -> None:
    """NEG: rules that would let the record go before a year after the expiry."""
    rules(stage, f"retention_years: {years}")
    registered(stage, "C-8", "2040-06-30")
    assert classes(stage)[CLASSES["sample"]].keep_until == "2041-06-30"


@pytest.mark.refuses("P211.180(a)")
def test_an_expiry_that_is_no_day_is_refused(stage: Stage) -> None:
    with pytest.raises(Stopped) as stop:
        registered(stage, "C-8", "June 2040")
    assert all("expires_on" in str(one) or one.where for one in stop.value.notices)
    assert CLASSES["sample"] in classes(stage)


def test_a_longer_rule_counts_before_an_expiry(stage: Stage) -> None:
    rules(stage, "retention_years: 90")
    registered(stage, "C-8", "2040-06-30")
    found = classes(stage)[CLASSES["sample"]]
    assert found.keep_until > "2100"
    assert found.by_expiry == 0


@pytest.mark.refuses("P11 11.10(c)", "P211.180(a)")
def test_no_command_removes_a_record() -> None:
    words = {word for command in COMMANDS for word in command.words}
    assert not words & {"purge", "delete", "remove", "drop", "erase", "prune", "expire"}


@pytest.mark.clause("P11 11.10(c)", "A11 17")
def test_the_oldest_of_each_class_is_proven_and_readable(stage: Stage) -> None:
    found = opened(stage)
    assert set(found) == set(classes(stage))
    assert [one.findings for one in found.values()] == [()] * len(found)
    assert all(one.entries for one in found.values())
    assert found[CLASSES["run"]].subject == "run/R-00001"
    assert found[CLASSES["certificate"]].objects >= 4


def changed(stage: Stage, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(stage.site.folder / "store.sqlite")) as connection:
        for drop in without_triggers(stage.played):
            connection.execute(drop)
        assert connection.execute(statement, values).rowcount == 1
        connection.commit()


@pytest.mark.refuses("P11 11.10(c)")
def test_a_lost_object_of_the_oldest_run_is_named(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = view.row("run", run="R-00001")
    assert row is not None
    changed(stage, "DELETE FROM objects WHERE sha256 = ?", row["document"])
    (finding,) = opened(stage)[CLASSES["run"]].findings
    assert finding.code == "integrity.object"
    assert "run/R-00001" in finding.where


@pytest.mark.refuses("P11 11.10(c)")
def test_changed_bytes_and_records_of_no_reader_are_named(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = view.rows("certificate")[0]
    changed(stage, "UPDATE objects SET body = ? WHERE sha256 = ?", zlib.compress(b"%PDF-1.7 another"), row["sealed"])
    (finding,) = opened(stage)[CLASSES["certificate"]].findings
    assert finding.code == "integrity.object"
    assert "sealed" in finding.what


@pytest.mark.refuses("P11 11.10(c)", "A11 17")
def test_an_entry_outside_the_tree_is_named(stage: Stage) -> None:
    changed(stage, "UPDATE ledger SET body = CAST(replace(CAST(body AS TEXT), 'Maren', 'Marin') AS BLOB) WHERE seq = 1")
    codes = {finding.code for one in opened(stage).values() for finding in one.findings}
    assert "integrity.inclusion" in codes


def test_records_are_read_by_the_types_they_were_written_with(stage: Stage) -> None:
    """A reader that opened anything would prove nothing: a register row is no other register's."""
    entry = next(one for one in entries(stage) if one.kind == "instrument.added")
    with stage.site.store.reading() as view:
        _open(entry, "record", view.bytes_of(entry.digests["record"]), None)
    with pytest.raises(ValueError, match="serial"):
        _open(entry, "record", record_bytes(Customer("a", "A", "1 Lane", "a@a.example")), None)
