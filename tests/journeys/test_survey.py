"""Many files looked at before any comes in: the count, and every problem of each that would be refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.journeys.commands import TRACE_ANALYST
from tests.journeys.test_layouts import FILE, LAYOUT, drafted

from benchseal.desk import surveys

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from tests.journeys.commands import Line


def test_a_folder_of_files(line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is right is counted, what is not is told as if it came in by itself; nothing comes in."""
    monkeypatch.setattr(surveys, "AT_ONCE", 2)  # so that there are several batches
    folder, data = tmp_path / "old", line.inbox(FILE).read_bytes()
    folder.mkdir()
    (folder / "below").mkdir()
    for name in ("a.txt", "b.txt", "d.txt"):
        (folder / name).write_bytes(data)
    (folder / "c.txt").write_bytes(data.replace(b"#End;Cd", b"#End;Pb"))
    (folder / "e.txt").write_bytes(data.replace(b"TQ-F-1107", b"TQ-F-9"))
    before = line("run", "list", "--json", by=(TRACE_ANALYST,)).json
    found = line("layout", "survey", LAYOUT, str(folder), "--json", by=(TRACE_ANALYST,))
    assert found.code == 4
    assert found.json["taken"] == 3
    assert [(one["file"], one["runs"]) for one in found.json["files"]] == [
        ("a.txt", 2), ("b.txt", 2), ("c.txt", 0), ("d.txt", 2), ("e.txt", 0),
    ]  # fmt: skip
    told = {(each["where"].split(",")[0], each["code"]) for each in found.json["problems"]}
    assert {("c.txt", "ingest.cut-off"), ("e.txt", "validate.instrument-unknown")} <= told
    assert {name for name, _ in told} == {"c.txt", "e.txt"}
    assert line("run", "list", "--json", by=(TRACE_ANALYST,)).json == before
    words = line("layout", "survey", LAYOUT, str(folder), by=(TRACE_ANALYST,))
    assert "5 files by layout semicolon-sections: 3 would be taken, with 6 runs; 2 would be refused" in words.out
    assert "validate.instrument-unknown" in words.err


def test_each_problem_is_the_one_it_would_be_refused_with(line: Line, tmp_path: Path) -> None:
    data = line.inbox(FILE).read_bytes()
    odd = tmp_path / "odd.txt"
    odd.write_bytes(data.replace(b";Cd-S1;S;", b";Cd-S9;S;"))
    found = line("layout", "survey", LAYOUT, str(odd), "--json", by=(TRACE_ANALYST,)).json["problems"]
    assert found
    assert found == line("run", "check", str(odd), "--layout", LAYOUT, "--json", by=(TRACE_ANALYST,)).json["problems"]


def test_a_draft_and_files_that_cannot_be_had(line: Line, tmp_path: Path) -> None:
    good = line.inbox(FILE)
    draft = drafted(tmp_path, "Worker;", "Hand;")
    link = tmp_path / "link.txt"
    link.symlink_to(good)
    found = line(
        "layout", "survey", str(draft), str(link), str(good), str(tmp_path / "none.txt"), "--json", by=(TRACE_ANALYST,)
    )
    assert found.code == 4
    assert [one["runs"] for one in found.json["files"]] == [0, 0, 0]
    assert {each["code"] for each in found.json["problems"]} >= {"ingest.line-unread", "file.missing"}
    assert line("layout", "survey", LAYOUT, str(tmp_path / "nothing"), "--json", by=(TRACE_ANALYST,)).code == 4


def test_a_layout_that_is_read_one_by_one(line: Line, tmp_path: Path) -> None:
    """One with lines to drop: every file by itself, with the same answer."""
    draft = drafted(tmp_path, "signal_words:", "drop_lines: ['~.*']\nsignal_words:")
    found = line("layout", "survey", str(draft), str(line.inbox(FILE)), "--json", by=(TRACE_ANALYST,))
    assert found.code == 0, found.json["problems"]
    assert found.json["files"] == [{"file": FILE, "runs": 2, "problems": 0}]


def test_a_file_that_would_be_refused_is_never_called_good(line: Line, tmp_path: Path) -> None:
    """Known by no layout, by two, by another; a run twice in its file; nothing in it: as ``run check`` tells it."""
    data = line.inbox(FILE).read_bytes()
    begins, ends = data.index(b"#Element;Pb"), data.index(b"#Element;Cd")
    twice = (data[:ends] + data[begins:ends] + data[ends:]).replace(b"#Log closed;2", b"#Log closed;3")
    folder = tmp_path / "old"
    folder.mkdir()
    for name, held in (("empty.txt", b""), ("good.txt", data), ("twice.txt", twice)):
        (folder / name).write_bytes(held)
    found = line("layout", "survey", LAYOUT, str(folder), "--json", by=(TRACE_ANALYST,)).json
    assert [(one["file"], one["runs"]) for one in found["files"]] == [
        ("empty.txt", 0),
        ("good.txt", 2),
        ("twice.txt", 0),
    ]
    each = [
        line("run", "check", str(folder / f"{one}.txt"), "--json", by=(TRACE_ANALYST,)) for one in ("empty", "twice")
    ]
    assert found["problems"] == [problem for one in each for problem in one.json["problems"]]
    assert [one["code"] for one in found["problems"]] == ["ingest.empty", "ingest.run-twice"]
    good = str(folder / "good.txt")
    known_by = "recognised_by: ['Bench log · form B']"
    unlike = drafted(tmp_path, known_by, "recognised_by: ['never so']")
    assert _codes(line, unlike, good) == ["ingest.layout-unknown"]
    unlike.write_text(unlike.read_text(encoding="utf-8").replace(f"id: {LAYOUT}", "id: my-own"), encoding="utf-8")
    assert _codes(line, unlike, good) == ["ingest.layout-other"]
    several = drafted(tmp_path, f"id: {LAYOUT}", "id: my-own")
    assert _codes(line, several, good) == ["ingest.layout-several"]


def _codes(line: Line, draft: Path, file: str) -> list[str]:
    found = line("layout", "survey", str(draft), file, "--json", by=(TRACE_ANALYST,)).json
    assert found["files"][0]["runs"] == 0
    return [one["code"] for one in found["problems"]]
