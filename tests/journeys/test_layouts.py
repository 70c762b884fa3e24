"""Reading layouts tried on files, and kept with files that later versions must go on reading the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, TRACE_ANALYST
from tests.journeys.test_corrections import good, refused, whole

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

FILE, LAYOUT = "flame-ware.txt", "semicolon-sections"


def drafted(tmp_path: Path, old: str, new: str) -> Path:
    text = starter(f"layouts/{LAYOUT}.yaml")
    assert old in text
    path = tmp_path / "draft.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def test_a_file_stands_beside_what_is_read_of_it(line: Line, tmp_path: Path) -> None:
    """From a YAML file nobody brought in, without a site and without a person."""
    path = tmp_path / "mine.yaml"
    path.write_text(starter(f"layouts/{LAYOUT}.yaml"), encoding="utf-8")
    tried = line("layout", "try", str(path), str(line.inbox(FILE)), "--json")
    assert tried.code == 0, tried.err
    (file,) = tried.json["files"]
    rows = {each["number"]: each for each in file["lines"]}
    assert rows[1]["text"] == "Bench log · form B"
    assert rows[2]["says"] == "instrument_serial = TQ-F-1107"
    standard = next(each for each in file["lines"] if each["text"].startswith("2;Pb-S1;"))
    assert standard["role"] == "row"
    assert standard["says"].startswith("2 Pb-S1: standard of 0.50; 1: 0.0092 (column ")
    assert {each["role"] for each in file["lines"]} <= {
        "blank", "head", "section", "section line", "header", "units", "row", "section end", "last line",
    }  # fmt: skip
    assert [run["facts"]["element"] for run in file["runs"]] == ["Pb", "Cd"]
    column = int(standard["says"].split("column ")[1].split(")")[0])
    assert standard["text"][column - 1 :].startswith("0,0092")
    told = line("layout", "try", str(path), str(line.inbox(FILE)))
    assert "-> 2 Pb-S1: standard of 0.50" in told.out
    assert "0 without a place; 0 problems" in told.out


def test_a_line_without_a_place_is_shown_where_it_stands(line: Line, tmp_path: Path) -> None:
    draft = drafted(tmp_path, "Worker;", "Hand;")
    tried = line("layout", "try", str(draft), str(line.inbox(FILE)), "--json")
    assert tried.code == 4
    lost = [each["text"] for each in tried.json["files"][0]["lines"] if each["role"] == "no place"]
    assert lost == ["Worker;maren.holt"]
    assert "ingest.line-unread" in {each["code"] for each in tried.json["problems"]}


def test_a_column_of_readings_that_is_ignored_shows_by_the_printed_means(line: Line, tmp_path: Path) -> None:
    draft = drafted(tmp_path, "{header: 3rd, means: signal, needed: false}", "{header: 3rd, means: ignored}")
    tried = line("layout", "try", str(draft), str(line.inbox(FILE)), "--json")
    assert tried.code == 4
    (problem,) = tried.json["problems"]
    assert problem["code"] == "validate.mean-differs"
    assert "printed means do not come from the readings that are read; the first: The printed mean" in problem["what"]
    assert "leaves out a column of readings" in problem["remedy"]


def test_one_mean_that_differs_is_named_by_itself(line: Line, tmp_path: Path) -> None:
    data = line.inbox(FILE).read_bytes()
    assert b"0,0096\r\n" in data
    path, mine = tmp_path / "odd.txt", tmp_path / "mine.yaml"
    path.write_bytes(data.replace(b"0,0096\r\n", b"0,0196\r\n", 1))
    mine.write_text(starter(f"layouts/{LAYOUT}.yaml"), encoding="utf-8")
    tried = line("layout", "try", str(mine), str(path), "--json")
    assert [each["code"] for each in tried.json["problems"]] == ["validate.mean-differs"]
    assert tried.json["problems"][0]["what"].startswith("The printed mean 0.0196 of Pb-S1 ")


@pytest.mark.parametrize("content", [b"", b"\x00\xff" * 100, b"\xff\xfeA"], ids=["empty", "zeros", "half a sign"])
def test_no_text_is_a_problem_and_no_traceback(line: Line, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "odd.txt"
    path.write_bytes(content)
    mine = tmp_path / "mine.yaml"
    mine.write_text(starter(f"layouts/{LAYOUT}.yaml"), encoding="utf-8")
    tried = line("layout", "try", str(mine), str(path), "--json")
    assert tried.code == 4
    assert tried.json["files"][0]["runs"] == []


@pytest.mark.clause("P11 11.10(k)")
def test_a_later_version_reads_kept_files_the_same_or_is_not_approved(line: Line, tmp_path: Path) -> None:
    kept = good(line("layout", "sample", LAYOUT, str(line.inbox(FILE)), "--json", by=(TRACE_ANALYST,)))
    assert (kept["version"], kept["runs"]) == (1, 2)
    assert line("layout", "test", LAYOUT, by=(ANALYST,)).code == 0
    better = drafted(tmp_path, "title: ", "title: New. ")
    good(line("document", "add", str(better), "--json", by=(TRACE_ANALYST,)))
    good(line("document", "approve", f"layout/{LAYOUT}", "--json", by=(APPROVER,)))
    worse = drafted(tmp_path, "{code: P, means: sample}", "{code: P, means: duplicate}")
    good(line("document", "add", str(worse), "--json", by=(TRACE_ANALYST,)))
    tested = line("layout", "test", LAYOUT, by=(ANALYST,))
    assert tested.code == 10
    assert "solutions, kind: item 12: 'sample' due, 'duplicate' read." in tested.out
    assert line("layout", "test", f"{LAYOUT}@2", by=(ANALYST,)).code == 0
    refused(line("document", "approve", f"layout/{LAYOUT}", by=(APPROVER,)), "layout.sample-differs")
    again = ("layout", "sample", LAYOUT, str(line.inbox(FILE)))
    refused(line(*again, by=(TRACE_ANALYST,)), "layout.sample-reason")
    good(line(*again, "--reason", "P is the second of two", "--json", by=(TRACE_ANALYST,)))
    good(line("document", "approve", f"layout/{LAYOUT}", "--json", by=(APPROVER,)))
    assert whole(line)


@pytest.mark.refuses("P11 11.10(k)")
@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("{header: Thinned, means: dilution}", "{header: Thinned, means: ignored}", "reads 'Thinned' as dilution"),
        ("{text: above-top, means: over_range}", "{text: above-top, means: missing}", "'above-top' means over range"),
        ("(?P<count_solutions>[0-9]+)", "[0-9]+", "compares count_solutions"),
        ("last_line: '#Log closed;", "drop_lines: ['99;.*']\nlast_line: '#Log closed;", "drops lines as '99;.*'"),
    ],
)
def test_a_version_that_stops_reading_something_is_not_approved_unseen(
    line: Line, tmp_path: Path, old: str, new: str, what: str
) -> None:
    """The file kept holds no dilution, no such word and all its readings, so it is read the same."""
    good(line("layout", "sample", LAYOUT, str(line.inbox(FILE)), "--json", by=(TRACE_ANALYST,)))
    good(line("document", "add", str(drafted(tmp_path, old, new)), "--json", by=(TRACE_ANALYST,)))
    tested = line("layout", "test", LAYOUT, by=(ANALYST,))
    assert tested.code == 0
    assert "look at this:" in tested.out
    assert what in tested.out
    unseen = line("document", "approve", f"layout/{LAYOUT}", by=(APPROVER,))
    refused(unseen, "layout.meaning-lost")
    assert what in unseen.err
    figures = good(line("document", "compare", f"layout/{LAYOUT}", "--json", by=(APPROVER,)))["comparison"]
    good(line("document", "approve", f"layout/{LAYOUT}", "--seen", figures, "--json", by=(APPROVER,)))


@pytest.mark.refuses("P11 11.10(k)")
def test_nor_is_one_that_passes_over_one_of_several_columns(line: Line, tmp_path: Path) -> None:
    """Nothing is kept with the layout, so nothing else tells."""
    old, new = "{header: 3rd, means: signal, needed: false}", "{header: 3rd, means: ignored, needed: false}"
    good(line("document", "add", str(drafted(tmp_path, old, new)), "--json", by=(TRACE_ANALYST,)))
    unseen = line("document", "approve", f"layout/{LAYOUT}", by=(APPROVER,))
    refused(unseen, "layout.meaning-lost")
    assert "reads '3rd' as signal" in unseen.err


@pytest.mark.refuses("P11 11.10(k)")
def test_what_is_no_sample(line: Line, tmp_path: Path) -> None:
    before = line.kept()
    cut = tmp_path / "cut.txt"
    cut.write_bytes(line.inbox(FILE).read_bytes()[:700])
    refused(line("layout", "sample", LAYOUT, str(cut), by=(ANALYST,)), "ingest.cut-off")
    refused(line("layout", "sample", "nothing", str(cut), by=(ANALYST,)), "layout.unknown")
    refused(line("layout", "test", f"{LAYOUT}@9", by=(ANALYST,)), "layout.unknown")
    profile = tmp_path / "profile.yaml"
    profile.write_text(starter("profiles/comma-utf8.yaml"), encoding="utf-8")
    refused(line("layout", "try", str(profile), str(cut)), "layout.no-layout")
    assert line.kept() == before
    good(line("layout", "sample", LAYOUT, str(line.inbox(FILE)), "--json", by=(ANALYST,)))
    refused(line("layout", "sample", LAYOUT, str(line.inbox(FILE)), by=(ANALYST,)), "layout.sample-known")


def test_from_a_file_nobody_described_to_a_layout_that_reads_it(line: Line, tmp_path: Path) -> None:
    """The draft of a plain file, one line of it corrected, is brought in, approved and reads the file."""
    file, out, page = tmp_path / "bench.txt", tmp_path / "My bench.yaml", tmp_path / "bench.html"
    head = "Serial number: TQ-F-1107\nElement: Pb 283.3 nm\nDate: 2026-11-18 09:10:00\n"
    file.write_text(head + "Sample;Rep;Abs\nBlank;1;0.001\nStd 1;1;0.100\nA/1;1;0.050\n", encoding="utf-8")
    made = line("layout", "propose", str(file), "--out", str(out), "--picture", str(page), "--json")
    assert made.code == 0, made.err
    (told,) = made.json["files"]
    assert (told["readings"], told["no_place"]) == (3, [])
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    draft = out.read_text(encoding="utf-8")
    refused(line("document", "add", str(out), by=(TRACE_ANALYST,)), "documents.layout-open")
    said = draft.replace("value: '?', because: '?'", "value: flame, because: 'by the burner fitted'")
    out.write_text(said.replace("by the burner fitted", "?"), encoding="utf-8")
    refused(line("document", "add", str(out), by=(TRACE_ANALYST,)), "documents.layout-open")
    out.write_text(said, encoding="utf-8")
    tried = line("layout", "try", str(out), str(file))
    assert tried.code == 0
    assert "stated by the layout: technique = flame, because by the burner fitted" in tried.out
    asked = line("document", "add", str(out), "--json", by=(TRACE_ANALYST,))
    remarks = [number for number, text in enumerate(said.splitlines(), 1) if "# please check: " in text]
    assert [each["where"].rpartition(" ")[2] for each in asked.json["problems"]] == [str(number) for number in remarks]
    assert {each["code"] for each in asked.json["problems"]} == {"layout.unchecked"}
    looked_at = [text for text in said.splitlines(keepends=True) if "# please check: " not in text]
    out.write_text("".join(looked_at), encoding="utf-8")
    good(line("document", "add", str(out), "--json", by=(TRACE_ANALYST,)))
    good(line("document", "approve", "layout/my-bench", "--json", by=(APPROVER,)))
    good(line("layout", "sample", "my-bench", str(file), "--json", by=(TRACE_ANALYST,)))


def test_a_draft_writes_over_nothing_and_needs_text(line: Line, tmp_path: Path) -> None:
    file, out = tmp_path / "bench.txt", tmp_path / "mine.yaml"
    file.write_bytes(b"")
    refused(line("layout", "propose", str(file), "--out", str(out)), "ingest.file-empty")
    assert not out.exists()
    file.write_text("no table here\n", encoding="utf-8")
    told = line("layout", "propose", str(file), "--out", str(out))
    assert told.code == 0
    assert "open: No table of readings was found" in told.out
    before = out.read_bytes()
    refused(line("layout", "propose", str(file), "--out", str(out)), "layout.draft-there")
    assert out.read_bytes() == before
