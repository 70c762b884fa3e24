"""A run that the instrument wrote as two files: described, looked at, brought in, kept, and refused where one lacks."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, PAGE_NAMED
from tests.journeys.test_corrections import good, refused, whole

from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.journeys.commands import Line


def layout() -> str:
    """The comma list, of racks: what opens each file is the heading of a page."""
    text = starter("layouts/comma-list.yaml").replace("id: comma-list", "id: rack-list")
    text = text.replace("recognised_by: ['Tern reading list,3']", "recognised_by: ['Rack,[0-9]+ of [0-9]+']")
    begun, rest = text.split("head:\n")
    head, rest = rest.split("section: ")
    patterns = [line.partition("line: ")[2].partition("'")[2].partition("'")[0] for line in head.splitlines()]
    kept = [one for one in patterns[1:] if not one.startswith(("Slit", "Flame", "Taken", "Drop"))]
    pages = ["Rack,(?P<page>[0-9]+) of (?P<pages>[0-9]+)", *kept]
    text = f"{begun}head: []\npages:\n  - heading:\n" + "".join(f"      - '{one}'\n" for one in pages)
    text += "    repeats_header: true\n    form_feed: false\n"
    rest = rest.replace("""ends: 'End of readings,(?P<count_readings>[0-9]+)'""", 'ends: ""', 1)
    return text + "section: " + rest.replace("last_line: 'List closed'", "last_line: ''\ndrop_lines: ['Rack closed']")


def in_two_racks(text: str) -> tuple[str, str]:
    """The mercury run of the demonstration as an instrument writes it rack by rack."""
    head, _, rows = text.partition("\n\n")
    lines = rows.splitlines()[:-2]
    cut = next(nth for nth, each in enumerate(lines) if each.startswith("20,"))
    first, second = (
        "\n".join([f"Rack,{nth} of 2", *head.splitlines()[1:], lines[0], *part, "Rack closed", ""])
        for nth, part in enumerate((lines[1:cut], lines[cut:]), 1)
    )
    return first, second


@pytest.fixture
def racks(line: Line, tmp_path: Path) -> list[str]:
    names = []
    for nth, text in enumerate(in_two_racks(line.inbox("vapour-mercury.csv").read_text(encoding="utf-8")), 1):
        path = tmp_path / f"rack-{nth}.csv"
        path.write_text(text, encoding="utf-8")
        names.append(str(path))
    return names


@pytest.fixture
def known(line: Line, tmp_path: Path) -> str:
    path = tmp_path / "rack-list.yaml"
    path.write_text(layout(), encoding="utf-8")
    good(line("document", "add", str(path), "--json", by=(ANALYST,)))
    good(line("document", "approve", "layout/rack-list", "--json", by=(APPROVER,)))
    return str(path)


def test_racks_are_looked_at_brought_in_and_kept(line: Line, racks: list[str], known: str) -> None:
    tried = line("layout", "try", known, *racks, "--one-run")
    assert tried.code == 0, tried.err
    assert "38 solutions, 114 readings" in tried.out
    kept = good(line("layout", "sample", "rack-list", *racks, "--json", by=(ANALYST,)))
    assert kept["one_run_of"] == ["rack-1.csv", "rack-2.csv"]
    quiet = line("layout", "try", known, *racks, "--one-run", "--quiet")
    assert (quiet.code, quiet.out, quiet.err) == (0, "", "")
    looked = line("run", "check", *racks, "--json", by=(ANALYST,))
    assert looked.code in {0, 10}, looked.err
    came = good(
        line(
            "ingest", *racks, "--one-run", "--stands", "both", "--stands-because", "written by racks", "--json",
            by=(ANALYST,),
        )
    )  # fmt: skip
    (run,) = came["files"][0]["runs"]
    shown = line("run", "list", "--json", by=(ANALYST,))
    assert run in {row["run"] for row in shown.json["runs"]}
    trail = line("ledger", "show", f"run/{run}", "--json", by=(ANALYST,))
    entry = next(each for each in trail.json["entries"] if each["kind"] == "run.ingested")
    assert entry["facts"]["name"] == "rack-1.csv + rack-2.csv from line 72"
    data = [Path(name).read_bytes() for name in racks]
    assert [entry["digests"][f"part_{nth:02}"] for nth in (1, 2)] == [hashlib.sha256(each).hexdigest() for each in data]
    assert entry["digests"]["raw"] == hashlib.sha256(b"".join(data)).hexdigest()
    whole(line)
    again = line("ingest", *racks, "--one-run", by=(ANALYST,))
    assert (again.code, "ingest.already" in again.err) == (0, True)


def another_day(racks: list[str], day: str, factor: float) -> list[str]:
    """The racks read on another day, every signal times a factor."""
    names = []
    for name in racks:
        path = Path(name)
        rows = [row.split(",") for row in path.read_text(encoding="utf-8").replace("2026-11-20", day).splitlines()]
        for cells in rows:
            if cells[0].isdigit() and cells[6][-1].isdigit():
                cells[6] = f"{float(cells[6]) * factor:.4f}"
        other = path.with_name(f"{path.stem}-{factor}.csv")
        other.write_text("\n".join([*map(",".join, rows), ""]), encoding="utf-8")
        names.append(str(other))
    return names


@pytest.mark.refuses("DI Q12", "P11 11.10(h)")
def test_a_rack_of_another_run_is_asked_about(line: Line, racks: list[str], tmp_path: Path) -> None:
    """The heading says the day alone: nothing but the bytes of the second rack shows where it belongs."""
    path = tmp_path / "rack-list.yaml"
    begun = re.sub(r"'Begun,.*'", lambda _: r"'Begun,(?P<started_date>\S+) \S+'", layout())
    path.write_text(begun, encoding="utf-8")
    good(line("document", "add", str(path), "--json", by=(ANALYST,)))
    good(line("document", "approve", "layout/rack-list", "--json", by=(APPROVER,)))
    one, other = (another_day(racks, "2026-11-23", factor) for factor in (1.01, 1.02))
    (run,) = good(line("ingest", *one, "--one-run", "--json", by=(ANALYST,)))["files"][0]["runs"]
    later = tmp_path / "later.csv"
    text = Path(other[0]).read_text(encoding="utf-8")
    later.write_text(re.sub(r",09:1(\d:\d\d)\n", r",09:0\1\n", text), encoding="utf-8")
    mixed = line("ingest", str(later), one[1], "--one-run", by=(ANALYST,))
    refused(mixed, "ingest.same-part")
    assert f"came in before, in rack-1-1.01.csv + rack-2-1.01.csv from line 72: run {run}" in mixed.err
    assert whole(line)


@pytest.mark.usefixtures("known")
def test_what_the_rules_find_in_a_rack_is_named_there(line: Line, racks: list[str]) -> None:
    """A reading of the second rack taken out: the solution, the rack and its own line are said, by every command."""
    path = Path(racks[1])
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    at = next(nth for nth, each in enumerate(lines) if each.startswith("21,"))
    gone = next(nth for nth in range(at, len(lines)) if not lines[nth + 1].startswith("21,"))
    path.write_text("".join([*lines[:gone], *lines[gone + 1 :]]), encoding="utf-8")
    for command in (("run", "check"), ("ingest", "--one-run")):
        found = line(*command, *racks, by=(ANALYST,))
        assert f"validate.replicates-few: rack-2.csv, line {at + 1} (position 21" in found.err


@pytest.mark.usefixtures("known")
def test_a_rack_that_lacks_or_stands_at_another_place(line: Line, racks: list[str]) -> None:
    alone = line("ingest", racks[0], by=(ANALYST,))
    refused(alone, "ingest.page-missing")
    assert "The file says it has 2 pages; 1 was read. Page 2 is lacking." in alone.err
    assert "bring them in together with --one-run" in alone.err
    turned = line("ingest", racks[1], racks[0], "--one-run", by=(ANALYST,))
    assert turned.code == 4
    where = "rack-2.csv, line 1, column 6: Page 2 stands where page 1 is due. They stand in the order 2, 1."
    assert turned.err == f"ingest.page-missing: {where} Name the files in the order they were written.\n{PAGE_NAMED}"
    twice = line("ingest", racks[0], racks[0], "--one-run", by=(ANALYST,))
    assert "ingest.part-twice" in twice.err
    tried = line("layout", "try", "rack-list", racks[1], racks[0], "--one-run", by=(ANALYST,))
    assert tried.err == turned.err
    sampled = line("layout", "sample", "rack-list", racks[1], racks[0], by=(ANALYST,))
    assert sampled.out == "Read as one run, in this order: rack-2.csv, rack-1.csv.\n"
    assert sampled.err == turned.err
    one = line("ingest", racks[0], "--one-run", by=(ANALYST,))
    assert "ingest.parts-count" in one.err
    watched = line("ingest", "--watch", ".", "--one-run", by=(ANALYST,))
    assert "watch.beside" in watched.err
    whole(line)


@pytest.mark.usefixtures("known")
def test_files_that_other_layouts_read_are_no_run(line: Line, racks: list[str]) -> None:
    other = str(line.inbox("vapour-mercury.csv"))
    for files in ([racks[0], other], [other, *racks]):
        for words in (("ingest", *files, "--one-run"), ("run", "check", *files)):
            tried = line(*words, by=(ANALYST,))
            refused(tried, "ingest.part-other")
            assert "rack-list" in tried.err
            assert "comma-list" in tried.err
            assert "layout-several" not in tried.err
    assert whole(line)


def test_the_rest_of_a_file_is_no_part_of_a_run(line: Line, racks: list[str], known: str, tmp_path: Path) -> None:
    bare = tmp_path / "rest.csv"
    rows = Path(racks[1]).read_text(encoding="utf-8").splitlines()
    begun = next(nth for nth, each in enumerate(rows) if each.startswith("20,"))
    bare.write_text("\n".join([*rows[begun:], ""]), encoding="utf-8")
    for words in (
        ("ingest", racks[0], str(bare), "--one-run"),
        ("run", "check", racks[0], str(bare)),
        ("layout", "sample", "rack-list", racks[0], str(bare)),
        ("layout", "try", known, racks[0], str(bare), "--one-run"),
    ):
        tried = line(*words, by=(ANALYST,))
        assert "ingest.part-unopened: rest.csv" in tried.err, tried.err
        assert tried.code != 0
    assert whole(line)


def test_a_layout_without_pages_reads_no_run_of_two_files(line: Line, tmp_path: Path) -> None:
    text = line.inbox("vapour-mercury.csv").read_bytes()
    cut = text.index(b"\n20,") + 1
    (tmp_path / "monday.csv").write_bytes(text[:cut])
    (tmp_path / "friday.csv").write_bytes(text[cut:].replace(b"0.0", b"0.1", 1))  # of another day
    names = [str(tmp_path / name) for name in ("monday.csv", "friday.csv")]
    for words in (("ingest", *names, "--one-run"), ("run", "check", *names)):
        refused(line(*words, by=(ANALYST,)), "ingest.part-unopened")
    assert whole(line)
