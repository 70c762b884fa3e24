"""One row for each certificate or sample, delivered as results are released, corrected, added and withdrawn."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_acknowledging import answer, held, lines
from tests.journeys.test_after_release import WHY, agreed, corrected, issued, nickel_measured, number_of
from tests.journeys.test_corrections import good, whole

from benchseal.export.delivery import check_manifest
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.journeys.commands import Line

ELEMENTS = ("As", "Cd", "Cu", "Fe", "Hg", "Mg", "Ni", "Pb", "Zn")
PER = ("certificate", "sample")


def profile(per: str) -> str:
    columns = [
        "{title: sample, field: lab_sample_id}",
        "{title: change_kind, field: change_kind}",
        "{title: change_reason, field: change_reason}",
    ]
    for of in ELEMENTS:
        fields = ("result_id", "revision", "value_text", "qualifier", "unit_ucum", "certificate_no", "basis")
        columns += [f"{{title: {of} {field}, field: {field}, of: {of}}}" for field in fields]
        columns.append(f"{{title: {of} analyte, field: analyte_name, of: {of}}}")
    return (
        f"kind: profile\nid: per-{per}\ntitle: One row per {per}\none_row_per: {per}\n"
        "file: {encoding: utf-8, separator: ',', quote: needed, line_end: lf, decimal_mark: '.', header_line: true}\n"
        "risky_text: keep\ncolumns:\n" + "".join(f"  - {column}\n" for column in columns)
    )


def approved(line: Line, tmp_path: Path) -> None:
    texts = {f"per-{per}": profile(per) for per in PER}
    texts["again"] = starter("profiles/comma-utf8.yaml").replace("comma-utf8", "again")
    for name, text in texts.items():
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
        good(line("document", "add", str(tmp_path / f"{name}.yaml"), "--json", by=(ANALYST,)))
        good(line("document", "approve", f"profile/{name}", "--json", by=(APPROVER,)))


def taken(line: Line, profile: str) -> list[dict[str, str]]:
    """The rows of the next delivery, from its file, whose manifest fits it."""
    said = good(line("export", "run", profile, "--json", by=(APPROVER,)))
    rows: list[dict[str, str]] = []
    for one in said["deliveries"]:
        path = Path(one["file"])
        stated = path.with_suffix(".manifest.json").read_bytes()
        assert check_manifest(stated, {path.name: path.read_bytes()}) == ()
        found = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
        assert json.loads(stated)["files"][0]["rows"] == len(found) == one["rows"]
        rows += found
    return rows


def results(rows: list[dict[str, str]]) -> dict[str, tuple[str, str, str]]:
    """By result: its sample, revision and value."""
    return {
        row[f"{of} result_id"]: (row["sample"], row[f"{of} revision"], row[f"{of} value_text"])
        for row in rows
        for of in ELEMENTS
        if row[f"{of} result_id"]
    }


def long(rows: list[dict[str, str]]) -> dict[str, tuple[str, str, str]]:
    return {row["result_id"]: (row["lab_sample_id"], row["revision"], row["value_text"]) for row in rows}


def test_through_the_life_of_certificates(line: Line, tmp_path: Path) -> None:
    approved(line, tmp_path)
    first = long(taken(line, "again"))
    assert len({sample for sample, _, _ in first.values()}) > 2
    for per in PER:
        rows = taken(line, f"per-{per}")
        assert results(rows) == first
        assert {row["change_kind"] for row in rows} == {"new"}
        assert len(rows) == len({sample for sample, _, _ in first.values()})
        assert taken(line, f"per-{per}") == []

    changed = corrected(line)
    number = str(good(line("certificate", "amend", changed, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    amended = long(taken(line, "again"))
    for per in PER:
        (row,) = taken(line, f"per-{per}")
        assert results([row]) == amended
        assert (row["change_kind"], row["change_reason"]) == ("corrected", WHY)
        assert {row[f"{of} certificate_no"] for of in ELEMENTS} <= {number, ""}

    good(line("certificate", "withdraw", number, "--reason", "another lot", "--json", by=(APPROVER,)))
    gone = long(taken(line, "again"))
    for per in PER:
        (row,) = taken(line, f"per-{per}")
        assert (row["change_kind"], row["change_reason"]) == ("withdrawn", "another lot")
        assert results([row]) == gone
        assert {value for _, _, value in results([row]).values()} == {""}
        assert taken(line, f"per-{per}") == []
    assert whole(line)


def test_several_changes_at_once_are_one_row_of_a_sample_and_a_row_for_each_certificate(
    line: Line, tmp_path: Path
) -> None:
    """Nothing was sent before: the sample's row is as it stands now, the certificates' rows as each put out."""
    approved(line, tmp_path)
    changed = corrected(line)
    number = str(good(line("certificate", "amend", changed, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    every = taken(line, "again")
    last = long(every)  # the later revision stands behind the earlier one
    by_sample = taken(line, "per-sample")
    assert results(by_sample) == last
    assert len(by_sample) == len({sample for sample, _, _ in last.values()})
    by_certificate = taken(line, "per-certificate")
    assert len(by_certificate) == len(by_sample) + 1
    assert results(by_certificate) == last
    assert sum(len(results([row])) for row in by_certificate) == len(every)
    assert {row["change_kind"] for row in by_certificate} == {"new", "corrected"}
    counted = line.rows("SELECT profile, COUNT(*) FROM delivered WHERE profile LIKE 'per-%' GROUP BY profile")
    assert {count for _, count in counted} == {len(every)}


def test_what_is_added_later_stands_beside_what_was_sent_of_the_sample(line: Line, tmp_path: Path) -> None:
    approved(line, tmp_path)
    first = number_of(line, "A-3")
    before = {row["sample"]: row for row in taken(line, "per-sample")}
    taken(line, "per-certificate")
    taken(line, "again")
    agreed(line)
    nickel_measured(line)
    number = str(
        good(line("certificate", "supplement", first, "--reason", "ordered", "--json", by=(ANALYST,)))["number"]
    )
    issued(line, number)
    (added,) = taken(line, "again")
    (of_certificate,) = taken(line, "per-certificate")
    assert results([of_certificate]) == long([added])
    assert of_certificate["change_kind"] == "new"
    (of_sample,) = taken(line, "per-sample")
    assert results([of_sample]) == results([before[of_sample["sample"]]]) | long([added])
    assert of_sample["change_kind"] == "corrected"  # it takes the place of the row before
    assert (of_sample["Ni certificate_no"], of_sample["Zn certificate_no"]) == (number, first)
    (counted,) = line.rows("SELECT COUNT(*) FROM delivered WHERE profile = 'per-sample'")[0]
    assert counted == len(line.rows("SELECT result_id, revision FROM released"))  # each once
    good(line("certificate", "withdraw", number, "--reason", "another lot", "--json", by=(APPROVER,)))
    (left,) = taken(line, "per-sample")
    assert (left["change_kind"], left["Ni value_text"]) == ("corrected", "")
    assert left["Zn value_text"] == of_sample["Zn value_text"] != ""
    assert whole(line)


def test_a_row_that_is_not_taken_holds_all_its_results(line: Line, tmp_path: Path) -> None:
    approved(line, tmp_path)
    said = good(line("export", "run", "per-sample", "--json", by=(APPROVER,)))
    (delivery,) = (one["delivery"] for one in said["deliveries"])
    answer(line, tmp_path, lines(delivery, "rejected,2,sample unknown"), code=8)
    assert held(line) == [("2", "sample unknown")]
    kept: Any = good(line("export", "list", "--held", "--json", by=(ANALYST,)))["held"]
    rows = list(csv.DictReader(io.StringIO(Path(said["deliveries"][0]["file"]).read_text("utf-8"))))
    assert set(kept[0]["result_id"].split()) == set(results([rows[1]]))
    good(line("export", "settle", delivery, "--row", "2", "--reason", "registered there", "--json", by=(ANALYST,)))
    assert held(line) == []
    beyond = answer(line, tmp_path, lines(delivery, f"rejected,{len(rows) + 1},x"), code=4)
    assert beyond["problems"][0]["code"] == "acknowledgement.row-unknown"
    assert whole(line)


def test_a_result_without_a_column_stops_the_delivery(line: Line, tmp_path: Path) -> None:
    """The starter has columns for lead and cadmium: the other customers' elements stand nowhere in it."""
    text = starter("profiles/samples-wide.yaml")
    (tmp_path / "samples-wide.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "samples-wide.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/samples-wide", "--json", by=(APPROVER,)))
    stopped = line("export", "run", "samples-wide", "--json", by=(APPROVER,))
    assert {each["code"] for each in stopped.json["problems"]} == {"export.result-without-column"}
    shown = line("export", "preview", "samples-wide", by=(ANALYST,))
    assert "export.result-without-column" in shown.out
    assert not [*(line.site / "outbox").glob("samples-wide*")]
    assert number_of(line, "A-1")
    tried = line("export", "check", str(tmp_path / "samples-wide.yaml"), by=(ANALYST,))
    assert tried.code == 0
    assert "two results in one row" in tried.out
