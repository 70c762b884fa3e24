"""Instruments, training, second looks, late entries and looking back at the command line. All invented."""

from __future__ import annotations

import json
import zlib
from dataclasses import fields
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, SECOND_APPROVER, TRACE_ANALYST
from tests.journeys.test_keeping import good, stopped

from benchseal.records.registers import SampleRow
from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

LEFT = "flame-ware.txt"
STRICT = """kind: site_rules
id: RULES
title: Rules of the site
training: required
typed_values: second_person
late_entry_hours: 48
"""


def listed(answer: dict[str, object], name: str) -> list[dict[str, str]]:
    rows = answer[name]
    assert isinstance(rows, list)
    return rows


def strict(line: Line, folder: Path) -> None:
    """The laboratory asks for everything from here on."""
    (folder / "rules.yaml").write_text(STRICT, encoding="utf-8")
    good(line("document", "add", str(folder / "rules.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "RULES", "--json", by=(APPROVER,)))


def at(**span: float) -> str:
    return f"{datetime.now(UTC) - timedelta(**span):%Y-%m-%dT%H:%M:%S}+00:00"


def event(line: Line, kind: str, *words: str, by: str = ANALYST) -> dict[str, object]:
    return good(line("instrument", "event", "flame-1", "--kind", kind, *words, "--json", by=(by,)))


# ------------------------------------------------------------------ instruments


@pytest.mark.clause("P11 11.10(h)")
def test_the_instrument_s_own_story_is_kept_and_shown(line: Line) -> None:
    event(line, "original_record", "--text", "bench computer 2, folder runs")
    event(line, "clock_check", "--seen", at(minutes=5), "--true", at(minutes=8))
    event(line, "lamp", "--part", "Zn 2", "--count", "1250", "--unit", "mA h", "--text", "changed")
    event(line, "calibration_due", "--until", "2099-01-01")
    shown = line("instrument", "show", "flame-1", by=(REVIEWER,)).out
    for words in ("bench computer 2", "+180 s by its last check", "lamp Zn 2, counter 1250 mA h", "until 2099-01-01"):
        assert words in shown
    found = good(line("history", "instrument", "flame-1", "--json", by=(REVIEWER,)))
    assert [one["kind"] for one in listed(found, "events")] == [
        "original_record", "clock_check", "lamp", "calibration_due",
    ]  # fmt: skip
    assert listed(found, "runs")
    assert "clock checked" in line("history", "instrument", "flame-1", by=(REVIEWER,)).out
    assert line("verify", "--all").code == 0


@pytest.mark.refuses("P11 11.10(h)")
def test_out_of_service_stops_new_runs_until_a_reviewer_puts_it_back(line: Line) -> None:
    event(line, "out_of_service", "--text", "burner head cracked", "--at", at(days=40))
    answer = line("ingest", str(line.inbox(LEFT)), by=(ANALYST,))
    assert answer.code != 0
    assert "instrument.out-of-service" in answer.err
    assert "burner head cracked" in answer.err
    words = ("--kind", "back_in_service", "--text", "new burner head, checked")
    stopped(line("instrument", "event", "flame-1", *words, by=(ANALYST,)), "instrument.back-by")
    event(line, "back_in_service", "--text", "new burner head, checked", "--at", at(days=39), by=REVIEWER)
    assert line("ingest", str(line.inbox(LEFT)), by=(ANALYST,)).code == 0
    stopped(line("instrument", "show", "flame-7", by=(ANALYST,)), "history.instrument-unknown")


@pytest.mark.clause("P11 11.10(h)")
def test_a_reviewer_sees_the_corrected_time_beside_the_instrument_s(line: Line) -> None:
    shown = str(line.rows("SELECT measured_at FROM run WHERE run = 'R-00001'")[0][0])
    instrument = str(line.rows("SELECT instrument FROM run WHERE run = 'R-00001'")[0][0])
    seen = datetime.fromisoformat(shown) - timedelta(hours=1)
    true = seen - timedelta(seconds=95)
    words = ("--kind", "clock_check", "--seen", seen.isoformat(), "--true", true.isoformat())
    good(line("instrument", "event", instrument, *words, "--json", by=(ANALYST,)))
    out = line("run", "show", "R-00001", by=(REVIEWER,)).out
    real = datetime.fromisoformat(shown) - timedelta(seconds=95)
    assert shown in out
    assert f"by the last check of its clock: {real.astimezone(UTC):%Y-%m-%dT%H:%M:%S}Z" in out


# ------------------------------------------------------------------ the whole way under strict rules


@pytest.mark.clause("P11 11.10(i)", "A11 6", "A11 12.4")
def test_a_strict_laboratory_takes_a_file_the_whole_way(line: Line, tmp_path: Path) -> None:
    strict(line, tmp_path)
    late = line("ingest", str(line.inbox(LEFT)), by=(ANALYST,))
    assert "late.reason-needed" in late.err
    because = ("--late-because", "the network was down")
    answer = good(line("ingest", str(line.inbox(LEFT)), *because, "--json", by=(ANALYST,)))
    run = str(listed(answer, "files")[0]["runs"][0])
    refused = line("run", "submit", run, by=(ANALYST,)).err
    assert "training.missing" in refused
    assert "typed.unconfirmed" in refused
    row = line.rows(f"SELECT method FROM run WHERE run = '{run}'")[0]  # noqa: S608
    for subject in (f"method/{row[0]}", "instrument/flame-1"):
        add = ("training", "add", ANALYST, "--for", subject, "--since", "2026-01-01", "--until", "2099-01-01")
        evidence = ("--evidence", "three runs observed by Ruth Calloway", *because)
        stopped(line(*add, *evidence, by=(ANALYST,)), "training.own")
        good(line(*add, *evidence, "--json", by=(APPROVER,)))
    typed = good(line("preparation", "list", "--open", "--json", by=(REVIEWER,)))
    rows = [one["row"] for one in listed(typed, "typed")]
    good(line("preparation", "confirm", *(one for one in rows if "/" in one), "--json", by=(REVIEWER,)))
    good(line("standard", "confirm", *(one for one in rows if "/" not in one), "--json", by=(REVIEWER,)))
    assert listed(good(line("preparation", "list", "--open", "--json", by=(REVIEWER,))), "typed") == []
    good(line("run", "submit", run, "--json", by=(ANALYST,)))
    out = line("run", "show", run, by=(REVIEWER,)).out
    assert "the network was down" in out
    assert f"confirmed by {REVIEWER}" in out
    stopped(line("run", "accept", run, by=(REVIEWER,)), "training.missing")
    role = (
        "training",
        "add",
        REVIEWER,
        "--for",
        "role/reviewer",
        "--until",
        "2099-01-01",
        "--evidence",
        "talk of 1 May",
    )
    number = str(good(line(*role, "--json", by=(SECOND_APPROVER,)))["training"])
    good(line("run", "accept", run, "--json", by=(REVIEWER,)))
    good(line("training", "withdraw", number, "--reason", "on leave for a year", "--json", by=(APPROVER,)))
    today = f"{datetime.now(UTC):%Y-%m-%d}"
    held = good(line("training", "list", "--as-of", today, "--json", by=(REVIEWER,)))
    assert [one["person"] for one in listed(held, "training")] == [ANALYST, ANALYST]
    every = good(line("training", "list", "--person", REVIEWER, "--json", by=(REVIEWER,)))
    assert [one["training"] for one in listed(every, "training")] == [number]
    assert "late.noted" in line("ledger", "show", f"run/{run}", by=(REVIEWER,)).out
    assert line("verify", "--all").code == 0


def test_sample_show_has_every_field_of_the_register_line(line: Line) -> None:
    found = good(line("sample", "show", "A-1", "--json", by=(ANALYST,)))
    register = found["register"]
    assert isinstance(register, dict)
    assert set(register) == {each.name for each in fields(SampleRow)}
    shown = line("sample", "show", "A-1", by=(ANALYST,)).out
    assert f"customer sample id: {register['customer_sample_id'] or 'not stated'}" in shown
    for name, text in register.items():
        assert not text or str(text) in shown, name
    for words in ("sampled on: ", "sampled by: ", "order: "):
        assert words in shown


@pytest.mark.clause("A11 6")
def test_a_value_nobody_was_shown_is_listed_beside_those_that_were_confirmed(line: Line, tmp_path: Path) -> None:
    plain = "kind: site_rules\nid: RULES\ntitle: Rules of the site\ntyped_values: second_person\n"
    for text in (f"{plain}typed_ranges:\n- {{quantity: area_dm2, low: '2', high: '3'}}\n", plain):
        (tmp_path / "rules.yaml").write_text(text)
        good(line("document", "add", str(tmp_path / "rules.yaml"), "--json", by=(ANALYST,)))
        good(line("document", "approve", "RULES", "--json", by=(APPROVER,)))
        if text != plain:
            good(line("preparation", "confirm", "WR-01/W-C1/1", "--json", by=(REVIEWER,)))
    for words, due in (
        ((), [("area_dm2 2.50", ""), ("volume_ml 350", REVIEWER)]),
        (("--open",), [("area_dm2 2.50", "")]),
    ):
        found = listed(good(line("preparation", "list", *words, "--json", by=(REVIEWER,))), "typed")
        mine = [(one["values"], one["confirmed by"]) for one in found if one["row"] == "WR-01/W-C1/1"]
        assert sorted(mine) == due
    answer = good(line("ingest", str(line.inbox(LEFT)), "--json", by=(ANALYST,)))
    run = str(listed(answer, "files")[0]["runs"][0])
    out = line("run", "show", run, by=(REVIEWER,)).out
    assert "typed: WR-01/W-C1/1, area_dm2 2.50: not confirmed" in out
    assert f"typed: WR-01/W-C1/1, volume_ml 350: confirmed by {REVIEWER}" in out


@pytest.mark.clause("A11 6")
def test_a_balance_s_own_file_takes_the_place_of_typing(line: Line, tmp_path: Path) -> None:
    head = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g\n"
    sheet, balance = tmp_path / "sheet.csv", tmp_path / "balance.csv"
    sheet.write_text(f"{head}Q-1,QQ-01,method_blank,,Zn,100.0,{TRACE_ANALYST},2026-01-10T09:00:00,1.0120\n")
    balance.write_text("portion,mass_g\nQ-1,1.0210\n")
    words = ("preparation", "add", str(sheet), "--balance", str(balance))
    stopped(line(*words, by=(ANALYST,)), "balance.differs")
    balance.write_text("")
    stopped(line(*words, by=(ANALYST,)), "documents.sheet-empty")
    balance.write_text("portion,mass_g\nQ-1,1.0120\n")
    good(line(*words, "--json", by=(ANALYST,)))
    found = listed(good(line("preparation", "list", "--json", by=(REVIEWER,))), "typed")
    assert [one["values"] for one in found if one["row"] == "QQ-01/Q-1"] == ["volume_ml 100.0"]


@pytest.mark.clause("A11 6")
def test_an_empty_mass_is_the_balance_s_and_a_typed_one_must_agree(line: Line, tmp_path: Path) -> None:
    """Filled before the rules look: a moisture goes with it, a surface does not. The record says it is not typed."""
    head = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,moisture_percent,"
    head += "u_moisture_percent,area_dm2\n"
    rest = f"method_blank,,Zn,100.0,{TRACE_ANALYST},2026-01-10T09:00:00"
    sheet, balance = tmp_path / "sheet.csv", tmp_path / "balance.csv"
    balance.write_text("portion,mass_g\nQ-5,0.5010\nQ-6,0.5020\n")
    words = ("preparation", "add", str(sheet), "--balance", str(balance))
    sheet.write_text(f"{head}Q-5,QQ-05,{rest},,,,4.00\n")
    stopped(line(*words, by=(ANALYST,)), "documents.portion-mass-and-area")
    rows = f"{head}Q-5,QQ-05,{rest},,2.0,0.1,\nQ-6,QQ-05,{rest},0.50200,,,\nQ-7,QQ-05,{rest},,,,\n"
    sheet.write_text(rows.replace("0.50200", "0.5021"))
    stopped(line(*words, by=(ANALYST,)), "balance.differs")
    sheet.write_text(rows)
    stopped(line("preparation", "add", str(sheet), by=(ANALYST,)), "documents.portion-moisture")
    came = line(*words, by=(ANALYST,))
    assert "Masses by the balance's own file: 2." in came.out, came.err
    found = listed(good(line("preparation", "list", "--json", by=(REVIEWER,))), "typed")
    typed = {str(one["row"]): str(one["values"]) for one in found if str(one["row"]).startswith("QQ-05/")}
    assert all("mass_g" not in values for values in typed.values())
    assert len(typed) == 3
    (body,) = line.rows("SELECT body FROM objects JOIN portion ON sha256 = record WHERE portion = 'Q-5'")
    assert b'"mass_g":"0.5010"' in zlib.decompress(body[0])
    assert line("verify", "--all").code == 0


@pytest.mark.clause("A11 6")
def test_weighings_and_rows_that_miss_each_other_are_named(line: Line, tmp_path: Path) -> None:
    """A result by mass needs one: its row is refused. Anything else comes in, and the receipt names it."""
    (kept,) = line.rows("SELECT body FROM objects JOIN sample ON sha256 = record WHERE sample = 'S-00001'")
    received = json.loads(zlib.decompress(kept[0]))["row"]["received_on"]
    head = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,expected_ug_per_g\n"
    rest = f"Zn,100.0,{TRACE_ANALYST},{received}T23:00:00"
    sheet, balance = tmp_path / "sheet.csv", tmp_path / "balance.csv"
    words = ("preparation", "add", str(sheet), "--balance", str(balance), "--late-because", "the sheet was mislaid")
    balance.write_text("portion,mass_g\nW-1,0.5010\nW-2b,0.5020\nW-9,0.5030\n")
    blank = f"W-8,WW-01,method_blank,,{rest},,\n"
    sheet.write_text(f"{head}W-1,WW-01,sample,S-00001,{rest},,\nW-2,WW-01,duplicate,S-00001,{rest},,\n{blank}")
    answer = line(*words, by=(ANALYST,))
    stopped(answer, "balance.mass-missing")
    assert "line 3, portion W-2: Its specification mineral-lozenge asks for Zn" in answer.err
    assert "Weighings without a row: W-2b, W-9." in answer.err
    sheet.write_text(
        f"{head}W-1,WW-01,reference_material,,{rest},,Zn 2.5\nW-2,WW-01,reference_material,,{rest},,Zn 2.5\n"
    )
    answer = line(*words, by=(ANALYST,))
    stopped(answer, "balance.mass-missing")
    assert "line 3, portion W-2: What is expected of it is a content" in answer.err
    sheet.write_text(f"{head}W-1,WW-01,sample,S-00001,{rest},,\nW-2,WW-01,control_sample,,{rest},,Zn 2.5\n{blank}")
    came = line(*words, by=(ANALYST,))
    assert "Masses by the balance's own file: 1." in came.out, came.err
    assert "Weighed, but on no row of the sheet (2 labels): W-2b, W-9." in came.out
    assert "On record without a mass (1 portion): W-2." in came.out
    sheet.write_text(sheet.read_text().replace("WW-01", "WW-02"))
    stopped(line(*words, by=(ANALYST,)), "balance.taken")
    balance.write_text(balance.read_text().replace("0.5010", "0.5011"))
    said = good(line(*words, "--json", by=(ANALYST,)))
    assert said["weighings_without_row"] == ["W-2b", "W-9"]
    assert said["portions_without_mass"] == ["W-2"]


@pytest.mark.clause("A11 6")
def test_the_print_of_a_balance_by_its_layout(line: Line, tmp_path: Path) -> None:
    (tmp_path / "bench-balance.yaml").write_text(starter("balances/bench-balance.yaml"), encoding="utf-8")
    head = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g\n"
    sheet, balance = tmp_path / "sheet.csv", tmp_path / "print.txt"
    sheet.write_text(f"{head}Q-2,QQ-02,method_blank,,Zn,100.0,{TRACE_ANALYST},2026-01-10T09:00:00,1.0120\n")
    printed = "Weighing list\nApparatus WB-2044\nLabel Q-2\nNet 1012.0 mg\n"
    balance.write_text(printed)
    words = ("preparation", "add", str(sheet), "--balance", str(balance), "--balance-layout", "bench-balance")
    stopped(line(*words, by=(ANALYST,)), "balance.layout-not-in-force")
    good(line("document", "add", str(tmp_path / "bench-balance.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "balance_layout/bench-balance", "--json", by=(APPROVER,)))
    for wrong, code in (
        (printed.replace("1012.0", "1021.0"), "balance.differs"),
        (printed.replace("2044", "2045"), "balance.serial-differs"),
        (f"{printed}Battery low\n", "balance.line-unread"),
    ):
        balance.write_text(wrong)
        stopped(line(*words, by=(ANALYST,)), code)
    balance.write_text(printed)
    good(line(*words, "--json", by=(ANALYST,)))
    found = listed(good(line("preparation", "list", "--json", by=(REVIEWER,))), "typed")
    assert [one["values"] for one in found if one["row"] == "QQ-02/Q-2"] == ["volume_ml 100.0"]
    alone = ("preparation", "add", str(sheet), "--balance-layout", "bench-balance")
    stopped(line(*alone, by=(ANALYST,)), "balance.layout-alone")
    assert line("verify", "--all").code == 0


# ------------------------------------------------------------------ looking back


@pytest.mark.clause("P11 11.10(c)", "A11 17")
def test_how_long_records_are_kept_and_the_oldest_opened(line: Line) -> None:
    answer = line("retention", "--open-oldest", by=(REVIEWER,))
    assert answer.code == 0, answer.err
    assert "no time of keeping is set" in answer.out
    assert "opened run/R-00001" in answer.out
    assert "Nothing was removed, ever" in answer.out
    found = good(line("retention", "--open-oldest", "--json", by=(REVIEWER,)))
    assert {str(one["findings"]) for one in listed(found, "opened")} == {"0"}


@pytest.mark.clause("A11 13")
def test_what_a_version_calculated_and_who_received_it(line: Line) -> None:
    out = line("impact", "--program", "0.1.0", by=(REVIEWER,)).out
    for words in ("C-2026-", "A-1", "delivered: D-00001"):
        assert words in out
    stopped(line("impact", "--program", "7.1", by=(REVIEWER,)), "impact.version-unknown")


@pytest.mark.clause("A11 11")
def test_a_periodic_review_is_read_and_signed(line: Line) -> None:
    shown = line("periodic", by=(APPROVER,))
    assert shown.code == 0
    for words in ("last backup: never", "file.refused", "doctor.backup", "failed sign-ins"):
        assert words in shown.out
    figures = str(good(line("periodic", "--json", by=(APPROVER,)))["list"])
    sign = ("periodic", "sign", "--comment", "first backup to be made today", "--list")
    stopped(line(*sign, "1-00000000", by=(APPROVER,)), "periodic.changed")
    stopped(line(*sign, figures, by=(REVIEWER,)), "act.role")
    good(line(*sign, figures, "--json", by=(APPROVER,)))
    assert "last periodic review: 20" in line("periodic", by=(APPROVER,)).out
    assert line("verify", "--all").code == 0


@pytest.mark.refuses("P11 11.10(d)")
def test_looking_needs_somebody_enrolled_and_changes_nothing(line: Line) -> None:
    for words in (
        ("impact", "--program", "0.1.0"), ("retention",), ("periodic",), ("training", "list"),
        ("preparation", "list"), ("instrument", "show", "flame-1"),
    ):  # fmt: skip
        assert line(*words).code == 5
        before = line.kept()
        assert line(*words, by=("p-sil.penhallow",)).code == 0
        assert line.kept() == before
