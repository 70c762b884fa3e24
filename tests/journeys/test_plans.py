"""A run plan at the command line: made, prepared by its own sheet, measured, and held against the run. Invented."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, cast

import pytest
from tests.journeys.commands import ANALYST, REVIEWER, TRACE_ANALYST
from tests.journeys.test_keeping import good, stopped
from tests.journeys.test_reports import words_of

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

SAMPLES = """sample,volume_ml,kind,portions,added_ug,dilutions,expected_ug_per_g
,50.0,control_sample,1,Zn 15,,
,50.0,reference_material,1,,,Zn 100
S-00001,50.0,sample,2,,Zn 5/100,
S-00002,50.0,sample,1,,Zn 5/100,
"""


def made(line: Line, folder: Path, *words: str, sheet: str = SAMPLES) -> dict[str, object]:
    (folder / "samples.csv").write_text(sheet, encoding="utf-8")
    command = ("plan", "make", "--method", "zinc-flame", "--samples", str(folder / "samples.csv"))
    return good(line(*command, *words, "--json", by=(ANALYST,)))


def ago(hours: int) -> str:
    """A time of today or yesterday as a clock on the wall shows it, or an hour before that."""
    return f"{datetime.now(UTC) - timedelta(hours=hours):%Y-%m-%dT%H:%M:%S}"


def filled(sheet: Path, *, leave: str = "", volume: str = "") -> bytes:
    """The plan's sheet with masses, a person and a time typed in. leave: a portion left out; volume: of another."""
    rows = list(csv.DictReader(io.StringIO(sheet.read_text(encoding="utf-8"))))
    for row in rows:
        row |= {"prepared_by": ANALYST, "prepared_at": ago(3), "mass_g": "0.5000"}
        row["volume_ml"] = volume if volume and row["kind"] == "duplicate" else row["volume_ml"]
    out = io.StringIO()
    lines = csv.DictWriter(out, list(rows[0]))
    lines.writeheader()
    lines.writerows(row for row in rows if row["portion"] != leave)
    return out.getvalue().encode()


def measured(solutions: list[tuple[str, str, str, str, str]]) -> bytes:
    """A file of the comma list. solutions: name, role, concentration given, dilution, absorbance."""
    head = [
        "Tern reading list,3", "Instrument number,TQ-F-1107", "Read by,", "Method,ZN-FLAME", "Element,Zn",
        "Line in nm,213.9", "Atomised by,flame", "Quantity,absorbance", "Unit,A", "Background taken off,by lamp",
        f"Begun,{ago(1).replace('T', ' ')}", "Place,Name,Role,Given,Thinned,Reading,Signal,Ground,Time",
    ]  # fmt: skip
    rows = [
        f"{place},{name},{role},{given},{dilution},{nth},{signal},0.001,"
        for place, (name, role, given, dilution, signal) in enumerate(solutions, 1)
        for nth in (1, 2, 3)
    ]
    return "\n".join([*head, *rows, f"End of readings,{len(rows)}", "List closed", ""]).encode()


def test_a_plan_is_made_shown_and_printed(line: Line, tmp_path: Path) -> None:
    answer = made(line, tmp_path, "--out", str(tmp_path / "plan"), "--drawn-ml", "2.5")
    assert (answer["plan"], answer["batch"]) == ("PL-00002", "PL-00002")
    assert (tmp_path / "plan" / "PL-00002-plan.pdf").read_bytes().startswith(b"%PDF")
    shown = line("plan", "show", "PL-00002", "--pdf", str(tmp_path / "letter.pdf"), "--paper", "letter", by=(REVIEWER,))
    assert "P2-01b  duplicate S-00001" in shown.out
    assert "signals expected from the curve of R-00001" in shown.out
    assert "PL-00002" in line("plan", "list", by=(REVIEWER,)).out
    stopped(line("plan", "show", "PL-00002", "--pdf", str(tmp_path / "letter.pdf"), by=(REVIEWER,)), "report.exists")
    stopped(line("plan", "show", "PL-00009", by=(REVIEWER,)), "plan.unknown")


def test_an_earlier_plan_of_the_same_methods_and_samples_is_named(line: Line, tmp_path: Path) -> None:
    first = made(line, tmp_path)
    assert first["planned_before"] == []
    command = ("plan", "make", "--method", "zinc-flame", "--samples", str(tmp_path / "samples.csv"))
    again = line(*command, by=(ANALYST,))
    assert again.code == 0, again.err
    assert f"{first['plan']} plans the same samples by the same methods; both stand." in again.out
    third = made(line, tmp_path, sheet=SAMPLES.replace("S-00001,50.0,sample,2", "S-00001,50.0,sample,3"))
    assert third["planned_before"] == ["PL-00002", "PL-00003"], "how many portions is no other question"
    other = made(line, tmp_path, sheet="\n".join(SAMPLES.splitlines()[:-1]) + "\n")
    assert other["planned_before"] == [], "one sample fewer"


def test_tubes_that_hold_less_than_is_taken_are_named(line: Line, tmp_path: Path) -> None:
    enough = made(line, tmp_path, "--drawn-ml", "0.1")
    assert enough["too_little"] == []
    sheet = ("--samples", str(tmp_path / "samples.csv"), "--drawn-ml", "40", "--out", str(tmp_path / "plan"))
    answer = line("plan", "make", "--method", "zinc-flame", *sheet, by=(ANALYST,))
    assert answer.code == 0, answer.err
    assert "  too little: P3-01a, diluted for Zn: made up to" in answer.out
    assert list((tmp_path / "plan").glob("*-plan.pdf"))


def test_what_was_not_agreed_for_a_sample_is_named_beside_its_plan(line: Line, tmp_path: Path) -> None:
    whole = SAMPLES.replace("S-00002,50.0,sample,1", "S-00002,50.0,sample,2")
    assert made(line, tmp_path, sheet=whole)["remarks"] == []
    assert made(line, tmp_path)["remarks"] == [
        "S-00002: 1 portion of it is read by zinc-flame; its specification mineral-lozenge asks for 2."
    ]
    remarks = made(line, tmp_path, sheet=whole + "S-00009,50.0,sample,1,Cd 100,,\n")["remarks"]
    assert isinstance(remarks, list)
    assert all(each.startswith("S-00009: ") for each in remarks)
    assert any("asks for no Zn; zinc-flame serves none of it." in each for each in remarks), remarks
    assert any("added_ug of Cd is left out" in each for each in remarks)
    answer = line("plan", "make", "--method", "zinc-flame", "--samples", str(tmp_path / "samples.csv"), by=(ANALYST,))
    assert "  remark: S-00009: its specification" in answer.out


def test_what_a_plan_cannot_be_made_from_is_named_all_at_once(line: Line, tmp_path: Path) -> None:
    made(line, tmp_path)
    sheet = SAMPLES.replace("S-00002", "S-09999")
    (tmp_path / "bad.csv").write_text(sheet, encoding="utf-8")
    words = ("--method", "no-such", "--samples", str(tmp_path / "bad.csv"), "--batch", "PL-00002", "--drawn-ml", "2,5")
    answer = line("plan", "make", *words, by=(ANALYST,))
    assert answer.code != 0
    for code in ("plan.method-unknown", "plan.sample-unknown", "plan.batch-taken", "plan.drawn"):
        assert code in answer.err
    (tmp_path / "bad.csv").write_text("sample,volume_ml,kind\nS-00001,0,sample\nS-00001,50,sample\n", encoding="utf-8")
    answer = line("plan", "make", "--method", "zinc-flame", "--samples", str(tmp_path / "bad.csv"), by=(ANALYST,))
    for code in ("documents.amount-zero", "documents.row-twice"):
        assert code in answer.err
    (tmp_path / "bad.csv").write_text("sample,volume_ml,kind\n,50,control_sample\n", encoding="utf-8")
    answer = line("plan", "make", "--method", "zinc-flame", "--samples", str(tmp_path / "bad.csv"), by=(ANALYST,))
    assert "documents.plan-no-sample" in answer.err


def test_a_refused_plan_leaves_no_folder_and_the_corrected_command_is_taken(line: Line, tmp_path: Path) -> None:
    out = ("--out", str(tmp_path / "papers" / "plan"))
    (tmp_path / "bad.csv").write_text(SAMPLES.replace("S-00002", "S-09999"), encoding="utf-8")
    command = ("plan", "make", "--method", "zinc-flame", "--samples", str(tmp_path / "bad.csv"), *out)
    stopped(line(*command, by=(ANALYST,)), "plan.sample-unknown")
    assert not (tmp_path / "papers").exists()
    made(line, tmp_path, *out)
    assert (tmp_path / "papers" / "plan" / "PL-00002-preparation.csv").is_file()
    again = ("plan", "make", "--method", "zinc-flame", "--samples", str(tmp_path / "samples.csv"))
    stopped(line(*again, *out, by=(ANALYST,)), "report.exists")
    (tmp_path / "file").write_bytes(b"")
    answer = line(*again, "--out", str(tmp_path / "file" / "plan"), by=(ANALYST,))
    assert "report.not-made" in answer.err
    assert "PL-00003" not in line("plan", "list", by=(REVIEWER,)).out, "nothing is on record of either"


def test_a_label_is_printed_once_more_only_with_a_reason(line: Line, tmp_path: Path) -> None:
    made(line, tmp_path)
    first = good(line("plan", "labels", "PL-00002", "--pdf", str(tmp_path / "1.pdf"), "--json", by=(ANALYST,)))
    assert (first["copy"], first["again"]) == (1, [])
    command = ("plan", "labels", "PL-00002", "--tube", "P2-01a", "--pdf", str(tmp_path / "2.pdf"))
    stopped(line(*command, by=(ANALYST,)), "plan.labels-again")
    assert not (tmp_path / "2.pdf").exists()
    again = good(line(*command, "--reason", "smeared", "--paper", "letter", "--json", by=(ANALYST,)))
    assert (again["copy"], again["again"]) == (2, ["P2-01a"])
    shown = line("plan", "show", "PL-00002", by=(REVIEWER,)).out
    assert "once more P2-01a: smeared" in shown
    other = ("plan", "labels", "PL-00002", "--pdf", str(tmp_path / "3.pdf"))
    stopped(line(*other, "--tube", "P2-99", by=(ANALYST,)), "plan.tube-unknown")
    stopped(line(*other, "--form", "mine", "--reason", "smeared", by=(ANALYST,)), "plan.form-unknown")


def test_the_sheet_comes_back_and_the_file_is_held_against_the_plan(line: Line, tmp_path: Path) -> None:
    answer = made(line, tmp_path, "--out", str(tmp_path / "plan"))
    sheet = tmp_path / "plan" / "PL-00002-preparation.csv"
    (tmp_path / "back.csv").write_bytes(filled(sheet, volume="100.0"))
    late = ("--late-because", "told afterwards")
    good(line("preparation", "add", str(tmp_path / "back.csv"), *late, "--json", by=(ANALYST,)))
    plan = good(line("plan", "show", "PL-00002", "--json", by=(ANALYST,)))["plan"]
    roles = {
        "calibration_blank": "zero", "standard": "standard", "second_source": "other source", "check_standard": "check",
        "check_blank": "check zero", "method_blank": "method blank", "control_sample": "control", "sample": "sample",
        "duplicate": "second portion", "reference_material": "reference",
    }  # fmt: skip
    solutions = [
        (one["label"], roles[one["kind"]], one["concentration"], "1", one["signal"] or "0.30")
        for one in plan["runs"][0]["solutions"]  # type: ignore[index]  # the plan as JSON
        if one["label"] != "P2-02a"
    ]
    solutions.insert(-2, ("P2-01a", "sample", "", "2", "0.15"))
    (tmp_path / "zinc.txt").write_bytes(measured(solutions))
    found = line("run", "check", str(tmp_path / "zinc.txt"), by=(TRACE_ANALYST,))
    assert "against plan PL-00002:" in found.out, found
    assert "P2-02a (sample), planned at place" in found.out
    assert "P2-01a (sample) was read once more, diluted 2 times, beyond the plan; first at position" in found.out
    assert "P2-01b: volume_ml as entered, not as planned" in found.out
    come = good(line("ingest", str(tmp_path / "zinc.txt"), *late, "--json", by=(ANALYST,)))
    run = come["files"][0]["runs"][0]  # type: ignore[index]  # as JSON
    shown = line("run", "show", str(run), by=(REVIEWER,)).out
    assert "P2-02a (sample), planned at place" in shown
    assert answer["portions"] == 6
    paper = tmp_path / "run.pdf"
    assert line("report", "run", str(run), "--pdf", str(paper), by=(REVIEWER,)).code == 0
    printed = words_of(paper)
    for words in ("Against the plan", "Plan PL-00002, batch", "P2-02a (sample), planned at place"):
        assert words in printed


@pytest.mark.parametrize("code", ["documents.label-form-beyond", "documents.label-form-letters"])
def test_a_form_that_does_not_fit_its_sheet_is_refused(line: Line, tmp_path: Path, code: str) -> None:
    from benchseal.shipped import starter  # noqa: PLC0415

    form = starter("labels/tubes-a4.yaml").replace("tubes-a4", "own")
    change = {"documents.label-form-beyond": ("down: 12", "down: 13"), "documents.label-form-letters": ("'11'", "'20'")}
    (tmp_path / "form.yaml").write_text(form.replace(*change[code]), encoding="utf-8")
    stopped(line("document", "add", str(tmp_path / "form.yaml"), by=(ANALYST,)), code)


WARE = """name,kind,nominal_ml,tolerance_ml,s_fill_ml
a,pipette,1,0.007,0.002
b,pipette,5,0.015,0.004
c,pipette,6,0.015,0.004
d,pipette,8,0.02,0.005
e,pipette,10,0.020,0.006
f,pipette,20,0.030,0.008
g,flask,50,0.06,0.02
h,flask,100,0.10,0.03
i,flask,250,0.15,0.05
"""


def test_working_standards_are_laid_out_with_the_ware_at_hand(line: Line, tmp_path: Path) -> None:
    (tmp_path / "ware.csv").write_text(WARE, encoding="utf-8")
    command = ("standard", "worksheet", "DW-Zn-26", "--method", "zinc-flame", "--ware", str(tmp_path / "ware.csv"))
    found = good(line(*command, "--pdf", str(tmp_path / "w.pdf"), "--json", by=(ANALYST,)))
    assert [one["wanted"] for one in found["standards"]][:2] == ["0.20", "0.40"]  # type: ignore[attr-defined]  # JSON
    assert (tmp_path / "w.pdf").read_bytes().startswith(b"%PDF")
    assert "first, for all: 1 mL to 100 mL; 69 mL of it are taken" in line(*command, by=(ANALYST,)).out
    stopped(line(*command, "--at", "0.37", by=(ANALYST,)), "standard.no-chain")
    stopped(line(*command, "--least-ml", "2,5", by=(ANALYST,)), "standard.number")
    other = ("standard", "worksheet", "DW-Mg-27", "--method", "zinc-flame")
    answer = line(*other, by=(ANALYST,))
    assert "standard.other-element" in answer.err
    assert "standard.no-ware" in answer.err
    stopped(line("standard", "worksheet", "DW-Xx-1", "--method", "zinc-flame", by=(ANALYST,)), "standard.unknown")
    (tmp_path / "ware.csv").write_text(WARE + "j,flask,250.0,0.15,0.05\n", encoding="utf-8")
    stopped(line(*command, by=(ANALYST,)), "documents.row-twice")


def test_a_volume_that_the_method_says_itself_is_told_not_to_be_used(line: Line, tmp_path: Path) -> None:
    (tmp_path / "samples.csv").write_text("sample,volume_ml,kind,portions\nS-00002,50.0,sample,1\n", encoding="utf-8")
    command = ("plan", "make", "--method", "lead-furnace", "--samples", str(tmp_path / "samples.csv"), "--json")
    said = cast("list[str]", good(line(*command, "--drawn-ml", "2.5", by=(ANALYST,)))["remarks"])
    assert said[0].startswith("--drawn-ml 2.5 is not used, every method has an injection volume: lead-furnace (")
    without = cast("list[str]", good(line(*command, by=(ANALYST,)))["remarks"])
    assert not any("drawn" in remark for remark in without)
