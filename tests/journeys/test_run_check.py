"""At the instrument: a file looked at before it comes in. Nothing is made of it, and the look is on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_corrections import done, good, refused, whole

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

FILE = "flame-ware.txt"


def check(line: Line, path: str, *more: str, by: str = ANALYST) -> Answer:
    return line("run", "check", path, *more, "--json", by=(by,))


@pytest.mark.clause("P11 11.10(e)", "DI Q12")
def test_what_a_file_would_give_and_that_somebody_looked(line: Line) -> None:
    before = line.kept()
    runs = line.rows("SELECT count(*) FROM run")
    looked = good(check(line, str(line.inbox(FILE))))
    assert [one["element"] for one in looked["runs"]] == ["Pb", "Cd"]
    assert all(not one["lost"] and not one["failed"] for one in looked["runs"])
    assert [one["open"] for one in looked["reread"]] == [0, 0]
    assert line.rows("SELECT count(*) FROM run") == runs
    assert line.kept().entries == before.entries + 1
    (row,) = line.rows("SELECT name, person, runs, problems, lost FROM trial")
    assert row == (FILE, ANALYST, 2, 0, 0)
    (at,) = line.rows("SELECT at FROM trial")[0]
    came = line("ingest", str(line.inbox(FILE)), by=(ANALYST,))
    assert came.code == 0, came.err
    assert f"looked at before: {at} by {ANALYST}" in came.out
    assert whole(line)


def test_what_is_on_record_already_is_named(line: Line, tmp_path: Path) -> None:
    """The same bytes, and the same run from other bytes: known while there is time to export the right file."""
    first = line("run", "check", str(line.inbox(FILE)), by=(ANALYST,)).out
    assert "came in before" not in first
    good(line("ingest", str(line.inbox(FILE)), "--json", by=(ANALYST,)))
    again = line("run", "check", str(line.inbox(FILE)), by=(ANALYST,)).out
    assert f"The same bytes came in before, as {FILE}." in again
    other = line("run", "check", str(spoiled(line, tmp_path)), by=(ANALYST,)).out
    assert "is the same run from another file: `ingest` will ask which of them stands." in other
    assert other.count("is the same run from another file") == 2
    assert whole(line)


def spoiled(line: Line, tmp_path: Path) -> Path:
    """The ware file with the last check standard of lead read at four fifths."""
    rows = line.inbox(FILE).read_bytes().decode("cp1252").splitlines(keepends=True)
    place = next(number for number, row in enumerate(rows) if ";Pb-CK1;" in row)
    rows[place] = f"{rows[place].split(';')[0]};Pb-CK1;C;;1;0,0700;0,0702;0,0698;0,0700\r\n"
    path = tmp_path / "spoiled.txt"
    path.write_bytes("".join(rows).encode("cp1252"))
    return path


def test_what_is_lost_is_named_while_it_can_be_read_again(line: Line, tmp_path: Path) -> None:
    looked = check(line, str(spoiled(line, tmp_path)))
    assert looked.code == 10, looked.out
    assert any(one["code"] == "run.check-lost" for one in looked.json["problems"])
    assert any(one["open"] for one in looked.json["reread"])
    told = line("run", "check", str(spoiled(line, tmp_path)), by=(ANALYST,))
    assert "Nothing came in." in told.out
    assert "around them, in the new run" in told.out or "measure the whole run again" in told.out
    assert [row[0] for row in line.rows("SELECT count(*) FROM trial")] == [2]  # each look counts


def test_the_last_line_says_what_the_list_says_and_each_failed_check_once(line: Line, tmp_path: Path) -> None:
    """Lost, with values in a run that came in meanwhile: nothing is to be read again, and nothing says otherwise."""
    path = str(spoiled(line, tmp_path))
    lost = line("run", "check", path, by=(ANALYST,))
    assert "Read again what the list names, now" in lost.err
    assert "Nothing to read again." not in lost.out.split("Pb by lead-flame-ware")[1].split("Cd by")[0]
    told = lost.out.splitlines()
    failed = [each for each in told if "Check standard" in each and "position " not in each[:14]]
    assert [each for each in told if each.startswith("  check failed: ")]
    (first, *_) = [each.removeprefix("  check failed: ") for each in told if each.startswith("  check failed: ")]
    before_list = lost.out.split("Nothing came in.")[0]
    assert before_list.count(first) == 1, failed
    good(line("ingest", str(line.inbox(FILE)), "--json", by=(ANALYST,)))
    again = line("run", "check", path, by=(ANALYST,))
    assert again.code == 10
    assert "Nothing to read again." in again.out
    assert "Read again what the list names" not in again.err
    assert "Nothing has to be read again for it" in again.err


def without(line: Line, tmp_path: Path, sample: str) -> str:
    """The lead section of the ware file without the plates of a sample, numbered and counted as if there were none."""
    head, lead, _ = line.inbox(FILE).read_bytes().decode("cp1252").split("#Element;")
    before, table = lead.split("Mean\r\n")
    rows = [row.split(";", 1)[1] for row in table.split("#End;", maxsplit=1)[0].splitlines() if row]
    kept = [row for row in rows if not row.startswith(f"{sample}/")]
    assert 0 < len(kept) < len(rows)
    table = "".join(f"{nth};{row}\r\n" for nth, row in enumerate(kept, 1))
    path = tmp_path / "without.txt"
    text = f"{head}#Element;{before}Mean\r\n{table}#End;Pb;{len(kept)}\r\n#Log closed;1\r\n"
    path.write_bytes(text.encode("cp1252"))
    return str(path)


def test_a_sample_of_which_nothing_was_read_is_named(line: Line, tmp_path: Path) -> None:
    """It has no result in the run: what is listed by results alone would pass it over."""
    path = without(line, tmp_path, "W-C1")
    looked = check(line, path)
    assert looked.code == 10, looked.out
    assert [one["code"] for one in looked.json["problems"]] == ["run.check-lost"]
    assert "1 sample was not read at all" in looked.json["problems"][0]["what"]
    (listed,) = looked.json["reread"]
    plates = [f"W-C1/{nth}" for nth in range(1, 5)]
    assert [(one["portion"], one["code"]) for one in listed["again"]] == [
        (plate, "portion.not-measured") for plate in plates
    ]
    assert listed["open"] == 4
    came = line("ingest", path, by=(ANALYST,))
    words = f"S-00009 (lot C-1), {', '.join(plates)}: not measured in this run"
    assert came.code == 0, came.err
    assert words in came.out
    assert words in line("run", "show", "R-00008", by=(ANALYST,)).out
    again = line("run", "reread", "R-00008", by=(ANALYST,)).out
    assert "Nothing to read again." not in again
    assert all(f"{plate}  sample of S-00009" in again or f"{plate}  duplicate of S-00009" in again for plate in plates)
    why = ("--cause", "not-presented", "--reason", "the lamp was due elsewhere")
    done(line, "run", "not-measured", "R-00008", "C-1", *why, by=(ANALYST,))
    said = "not measured in this run: "
    told = line("run", "show", "R-00008", by=(ANALYST,)).out
    assert any(said in one and "the lamp was due elsewhere" in one for one in told.splitlines() if plates[0] in one)
    both = ("--stands", "both", "--stands-because", "the plates were read with the second file")
    good(line("ingest", str(line.inbox(FILE)), *both, "--json", by=(ANALYST,)))
    after = line("run", "reread", "R-00008", by=(ANALYST,)).out
    assert "Nothing to read again." in after
    assert "value in R-00009" in after
    assert whole(line)


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    ("content", "code"),
    [
        pytest.param(b"", "ingest.empty", id="an empty file"),
        pytest.param(b"\x00\x01\x02" * 50, "ingest.", id="rubbish"),
        pytest.param(b"Series;X\r\nno table\r\n", "ingest.", id="no layout reads it"),
    ],
)
def test_what_would_be_refused_is_on_record_with_its_bytes(
    line: Line, tmp_path: Path, content: bytes, code: str
) -> None:
    path = tmp_path / "odd.txt"
    path.write_bytes(content)
    looked = check(line, str(path))
    assert looked.code == 4
    assert looked.json["problems"][0]["code"].startswith(code)
    (row,) = line.rows("SELECT runs, problems FROM trial")
    assert row[0] == 0
    assert row[1] >= 1
    assert line.rows("SELECT count(*) FROM source_file WHERE name = 'odd.txt'") == [(0,)]
    assert whole(line)


def test_only_whoever_measures_looks(line: Line) -> None:
    refused(line("run", "check", str(line.inbox(FILE)), by=(APPROVER,)), "act.role")
    refused(line("run", "check", str(line.inbox(FILE)), by=(REVIEWER,)), "act.role")


def test_a_sheet_is_not_brought_in_by_a_look(line: Line, tmp_path: Path) -> None:
    sheet = tmp_path / "new.csv"
    sheet.write_text(line.inbox("preparation-ware.csv").read_text().replace("WR-01", "WR-09"))
    before = line.kept()
    refused(
        line("run", "check", str(line.inbox(FILE)), "--preparation", str(sheet), by=(ANALYST,)), "preparation.not-added"
    )
    assert line.kept() == before
    known = check(line, str(line.inbox(FILE)), "--preparation", str(line.inbox("preparation-ware.csv")))
    assert known.code == 0


def test_a_file_its_specification_asks_nothing_of_is_said_to_give_no_result(line: Line, tmp_path: Path) -> None:
    """Nothing is lost and no check failed: what is said is that, and not that values are lacking."""
    path = tmp_path / "other.yaml"
    other = starter("methods/lead-flame-ware.yaml").replace("id: lead-flame-ware", "id: lead-other")
    path.write_text(other.replace("[PB-WARE]", "[PB-OTHER]"), encoding="utf-8")
    good(line("document", "add", str(path), "--json", by=(ANALYST,)))
    good(line("document", "approve", "method/lead-other", "--json", by=(APPROVER,)))
    file = tmp_path / "file.txt"
    file.write_bytes(line.inbox(FILE).read_bytes().replace(b"PB-WARE", b"PB-OTHER"))
    looked = line("run", "check", str(file), by=(ANALYST,))
    assert looked.code == 10
    (said,) = [each for each in looked.err.splitlines() if each.startswith("run.check-lost: Pb by lead-other: ")]
    asks = "the specification of sample S-00009 asks nothing of Pb by method lead-other."
    assert f"It gives no result, and no check failed; to be known: {asks} Nothing has to be read again" in said
    assert "Look at the failed checks" not in looked.err
