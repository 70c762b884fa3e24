"""What is wrong is said in one line each with the right exit code, and nothing is half stored."""

from __future__ import annotations

import os
import sqlite3
import unicodedata
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import (
    ADMINISTRATOR,
    ANALYST,
    APPROVER,
    PAGE_NAMED,
    REVIEWER,
    SECOND_APPROVER,
    TRACE_ANALYST,
    Kept,
    one_line,
    pipe_of,
)

from benchseal.cli.opened import LARGEST_FILE_BYTES
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.journeys.commands import Line

POSIX = pytest.mark.skipif(os.name == "nt", reason="needs names and files only POSIX systems have")


def mercury(line: Line) -> bytes:
    """The demo's mercury file with another window in its head, so that it is not the one brought in."""
    return line.inbox("vapour-mercury.csv").read_bytes().replace(b"east window", b"west window")


REFUSED: list[tuple[str, Callable[[Line], bytes], tuple[str, ...], str]] = [
    ("not text", lambda _: bytes(range(256)) * 8, (), "ingest.layout-unknown"),
    ("only zeros", lambda _: bytes(4096), (), "ingest.not-text"),
    ("empty", lambda _: b"", (), "ingest.empty"),
    ("a text nobody knows", lambda _: b"dear laboratory,\nplease find below\n", (), "ingest.layout-unknown"),
    ("the wrong layout named", mercury, ("--layout", "page-print"), "ingest.page-heading"),
    ("a layout that is not in force", mercury, ("--layout", "no-such"), "ingest.layout-unknown"),
    ("cut off", lambda line: mercury(line)[: len(mercury(line)) // 2], (), "ingest.cut-off"),
    ("another encoding", lambda line: mercury(line).decode().encode("utf-16"), (), "ingest.not-text"),
    (
        "a standard is missing",
        lambda line: mercury(line).replace(b"Hg-S3,standard,0.50", b"Hg-S3,rinse,"),
        (),
        "validate.standard-missing",
    ),
    ("an unknown sample", lambda line: mercury(line).replace(b"T-A1/1", b"T-QQ/1"), (), "validate.sample-unknown"),
    (
        "a figure with a letter of two parts",  # a + combining diaeresis: not the form records are kept in
        lambda line: mercury(line).replace(b"0.0018", "0.0a\u03088".encode()),
        (),
        "ingest.number-unreadable",
    ),
]


@pytest.mark.clause("DI Q1a")
@pytest.mark.refuses("DI Q1a")
@pytest.mark.clause("DI Q12", "DI Q10", "PI041 complete")
@pytest.mark.refuses("P11 11.10(a)", "A11 4", "DI Q10")
@pytest.mark.parametrize(("make", "more", "code"), [pytest.param(*row[1:], id=row[0]) for row in REFUSED])
def test_a_refused_file_leaves_its_bytes_and_its_report(
    reader: Line, tmp_path: Path, make: Callable[[Line], bytes], more: tuple[str, ...], code: str
) -> None:
    data = make(reader)
    (tmp_path / "given.txt").write_bytes(data)
    before = reader.kept()
    answer = reader("ingest", str(tmp_path / "given.txt"), *more, "--json")
    assert answer.code == 4
    assert code in {problem["code"] for problem in answer.json["problems"]}
    assert all(problem["where"] and problem["what"] and problem["remedy"] for problem in answer.json["problems"])
    assert {PAGE_NAMED.split()[-1].rstrip(".")} == {problem["page"] for problem in answer.json["problems"]}
    new = {name for (name,) in reader.rows("SELECT sha256 FROM objects")}
    assert digest(data) in new
    assert reader.kept() == (before.entries + 1, before.objects + 2)
    assert reader.rows("SELECT json_extract(body, '$.kind') FROM ledger ORDER BY seq DESC LIMIT 1") == [
        ("file.refused",)
    ]
    again = reader("ingest", str(tmp_path / "given.txt"), *more)
    assert "Traceback" not in again.err
    assert "given.txt" in again.err
    assert all(one_line(part + "\n") for part in again.err.removesuffix(PAGE_NAMED).splitlines())
    assert reader("verify", "--all").code == 0


@pytest.mark.refuses("A11 4")
@pytest.mark.parametrize(
    ("name", "code"),
    [
        pytest.param("no-such.txt", "file.missing", id="no file"),
        pytest.param(".", "file.not-a-file", id="a folder"),
        pytest.param("pipe", "file.not-a-file", id="a pipe", marks=POSIX),
        pytest.param("large", "file.too-large", id="too large"),
        pytest.param("x" * 300, "file.", id="a name no system has"),
    ],
)
def test_what_is_no_file_is_not_read(reader: Line, tmp_path: Path, name: str, code: str) -> None:
    if name == "pipe":
        os.mkfifo(tmp_path / name)
    if name == "large":
        with (tmp_path / name).open("wb") as file:
            file.truncate(LARGEST_FILE_BYTES + 1)
    before = reader.kept()
    for command in (("ingest",), ("sample", "add"), ("document", "add"), ("preparation", "add")):
        answer = reader(*command, str(tmp_path / name))
        assert answer.code == 4
        assert answer.err.startswith(code)
        assert one_line(answer.err)
    assert reader.kept() == before


@POSIX
@pytest.mark.parametrize(
    ("name", "shown"),
    [
        pytest.param("two\nlines.txt", "two\\nlines.txt", id="a line end"),
        pytest.param("red\x1b[31m.txt", "red\\x1b[31m.txt", id="a terminal command"),
        pytest.param("abc\u202etxt.exe", "abc\\u202etxt.exe", id="a mark that turns the direction"),
        pytest.param(unicodedata.normalize("NFD", "Präparat.txt"), "Präparat.txt", id="letters in two parts"),
    ],
)
def test_a_strange_name_is_kept_and_shown_on_one_line(reader: Line, tmp_path: Path, name: str, shown: str) -> None:
    (tmp_path / name).write_bytes(b"nothing a layout knows")
    answer = reader("ingest", str(tmp_path / name))
    assert answer.code == 4
    assert one_line(answer.err)
    assert shown in answer.err
    assert reader("verify", "--all").code == 0


def test_one_bad_file_does_not_stop_the_next(reader: Line, tmp_path: Path) -> None:
    (tmp_path / "bad.txt").write_bytes(b"bad")
    answer = reader("ingest", str(tmp_path / "none"), str(tmp_path / "bad.txt"), str(reader.inbox("flame-ware.txt")))
    assert answer.code == 4
    *refused, page = answer.err.splitlines(keepends=True)
    assert [part.partition(":")[0] for part in refused] == ["file.missing", "ingest.layout-unknown"]
    assert page == PAGE_NAMED
    quiet = reader("ingest", str(tmp_path / "bad.txt"), "--quiet").err
    assert quiet.startswith("ingest.layout-unknown")
    assert len(quiet.splitlines()) == 1
    assert len(reader.rows("SELECT run FROM run WHERE state = 'draft'")) == 2
    text = reader("document", "show", "comma-utf8").out
    (tmp_path / "good.yaml").write_text(text.replace("id: comma-utf8", "id: comma-other"), encoding="utf-8")
    answer = reader("document", "add", str(tmp_path / "good.yaml"), str(tmp_path / "bad.txt"), "--json")
    assert answer.code == 4
    assert [added["id"] for added in answer.json["documents"]] == ["comma-other"]


@pytest.mark.refuses("P11 11.10(h)")
def test_the_same_file_twice_makes_one_run(reader: Line) -> None:
    assert reader("ingest", str(reader.inbox("flame-ware.txt"))).code == 0
    before = reader.kept()
    answer = reader("ingest", str(reader.inbox("flame-ware.txt")))
    assert answer.code == 0
    assert one_line(answer.err)
    assert reader.kept() == before


SHEETS = [
    pytest.param(b"", id="empty"),
    pytest.param(b"\xff\xfe\x00\x01" * 9, id="not text"),
    pytest.param(b"a,b\n1,2\n", id="other columns"),
    pytest.param(b"PK\x03\x04" + bytes(99), id="a damaged workbook"),
]


@pytest.mark.refuses("A11 5", "A11 4")
@pytest.mark.parametrize("data", SHEETS)
def test_a_sheet_comes_in_whole_or_not_at_all(reader: Line, tmp_path: Path, data: bytes) -> None:
    (tmp_path / "sheet").write_bytes(data)
    before = reader.kept()
    for noun in ("recipient", "instrument", "standard", "sample", "preparation", "document"):
        answer = reader(noun, "add", str(tmp_path / "sheet"))
        assert answer.code == 4
        assert one_line(answer.err)
    answer = reader("ingest", str(reader.inbox("flame-ware.txt")), "--preparation", str(tmp_path / "sheet"))
    assert answer.code == 4
    assert reader.kept() == before


# ------------------------------------------------------------------ people


@pytest.mark.refuses("P11 11.300(d)")
def test_a_wrong_password_is_counted_and_the_sixth_try_waits(line: Line) -> None:
    before = line.kept()
    for said in ("sign-in.refused",) * 5 + ("identity.locked",):
        answer = line("run", "submit", "R-00001", more=(ANALYST, "not the password at all"))
        assert answer.code == 5
        assert one_line(answer.err)
        assert answer.err.startswith(said)
    right = line("run", "submit", "R-00001", by=(ANALYST,))
    assert right.err.startswith("identity.locked")
    unknown = line("run", "submit", "R-00001", more=("nobody.here", "not the password at all"))
    assert unknown.err.startswith("sign-in.refused")
    assert line.kept()[0] == before[0] + 1  # the account locked itself: that goes on record, and nothing else
    unlocked = line("person", "unlock", ANALYST, "--reason", "identity checked at the desk", by=(ADMINISTRATOR,))
    assert unlocked.code == 0
    assert line("run", "submit", "R-00001", by=(ANALYST,)).err.startswith("run.wrong-state")


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        pytest.param((), 3, id="nothing came"),
        pytest.param((ANALYST,), 3, id="no password"),
        pytest.param(("", "x"), 3, id="no user id"),
    ],
)
def test_too_few_lines_in_the_pipe(line: Line, lines: tuple[str, ...], code: int) -> None:
    given = str(pipe_of("".join(f"{each}\n" for each in lines)))
    answer = line("run", "submit", "R-00001", "--secret-fd", given)
    assert answer.code == code
    assert one_line(answer.err)


@pytest.mark.parametrize("number", ["-1", "999", "99999999999999999999"])
def test_a_descriptor_that_is_not_open(line: Line, number: str) -> None:
    answer = line("run", "list", "--secret-fd", number)
    assert answer.code == 3
    assert one_line(answer.err)


def both(line: Line) -> Callable[..., tuple[str, ...]]:
    """One confirmed person who is analyst and reviewer; a function that gives their lines for the pipe."""
    new = ("person", "add", "wren.ode", "--name", "Wren Ode", "--role", "analyst", "--role", "reviewer")
    word = "four grey herons walk"
    assert line(*new, "--identity-check", "seen", by=(ADMINISTRATOR,), more=(word,)).code == 0
    assert line("person", "confirm", "wren.ode", "--identity-check", "seen", by=(APPROVER,)).code == 0
    return lambda: ("p-wren.ode", word)


@pytest.mark.refuses("P211.194(a)(8)", "P11 11.10(g)")
def test_nobody_reviews_what_they_brought_in(line: Line) -> None:
    own = both(line)
    runs = line("ingest", str(line.inbox("flame-ware.txt")), "--json", more=own()).json["files"][0]["runs"]
    assert line("run", "submit", *runs, more=own()).code == 0
    before = line.kept()
    answer = line("run", "accept", *runs, more=own())
    assert answer.code == 5
    assert [part.partition(":")[0] for part in answer.err.splitlines()] == ["duty.own-work"] * 2
    cancelled = line("run", "cancel", runs[0], "--reason", "x", more=(*own(), *own()))
    assert cancelled.code == 5
    assert one_line(cancelled.err)
    assert line.kept() == before
    assert line("run", "accept", *runs, by=(REVIEWER,)).code == 0


@pytest.mark.refuses("P211.194(a)(8)")
def test_nobody_reviews_portions_they_prepared(line: Line, tmp_path: Path) -> None:
    own = both(line)
    sheet = tmp_path / "ware-again.csv"
    sheet.write_bytes(line.inbox("preparation-ware.csv").read_bytes().replace(b"WR-01", b"WR-02"))
    assert line("preparation", "add", str(sheet), more=own()).code == 0
    came = line("ingest", str(line.inbox("flame-ware.txt")), "--preparation", str(sheet), "--json", by=(ANALYST,))
    runs = came.json["files"][0]["runs"]
    assert line("run", "submit", *runs, by=(ANALYST,)).code == 0
    before = line.kept()
    answer = line("run", "accept", *runs, more=own())
    assert answer.code == 5
    assert {part.partition(":")[0] for part in answer.err.splitlines()} == {"duty.own-work"}
    assert line.kept() == before


@pytest.mark.refuses("P11 11.10(f)", "P11 11.10(g)")
@pytest.mark.parametrize(
    ("words", "by", "code"),
    [
        pytest.param(("run", "submit", "R-00001"), (APPROVER,), "act.role", id="an approver submits"),
        pytest.param(("run", "accept", "R-00001"), (ANALYST,), "act.role", id="an analyst accepts"),
        pytest.param(("run", "submit", "R-00001"), (ANALYST,), "run.wrong-state", id="submitted again"),
        pytest.param(("run", "submit", "R-00001", "R-00001"), (ANALYST,), "run.which", id="named twice"),
        pytest.param(("run", "submit", "R-77777"), (ANALYST,), "run.unknown", id="no such run"),
        pytest.param(("run", "recalculate", "R-00001", "--reason", " "), (ANALYST,), "act.reason", id="no reason"),
        pytest.param(
            ("run", "cancel", "R-00001", "--reason", "x"), (REVIEWER, ANALYST), "act.role", id="in the wrong order"
        ),
        pytest.param(("certificate", "draft", "A-2"), (ANALYST,), "certificate.held", id="a held lot"),
        pytest.param(("certificate", "draft", "Z-9"), (ANALYST,), "lot.unknown", id="no such lot"),
        pytest.param(("certificate", "release", "C-1999-00001"), (SECOND_APPROVER,), "certificate.unknown", id="none"),
        pytest.param(("certificate", "show", "C-1999-00001"), (ANALYST,), "certificate.unknown", id="none to show"),
        pytest.param(("document", "show", "zinc-flame@7"), (ANALYST,), "document.unknown", id="no such version"),
        pytest.param(("run", "show", "R-77777"), (ANALYST,), "run.unknown", id="no such run to show"),
        pytest.param(("sample", "show", "Z-9"), (ANALYST,), "lot.unknown", id="no such sample"),
        pytest.param(("ledger", "show", "run/R-77777"), (ANALYST,), "ledger.unknown", id="no such subject"),
        pytest.param(("export", "run", "no-such"), (APPROVER,), "export.profile-not-in-force", id="no such profile"),
        pytest.param(("export", "run", "comma-utf8"), (REVIEWER,), "act.role", id="a reviewer delivers"),
        pytest.param(("export", "again", "D-77777"), (APPROVER,), "delivery.unknown", id="no such delivery"),
    ],
)
def test_what_is_not_allowed_is_exit_5(line: Line, words: tuple[str, ...], by: tuple[str, ...], code: str) -> None:
    before = line.kept()
    answer = line(*words, by=by)
    assert answer.code == 5
    assert answer.out == ""
    assert one_line(answer.err)
    assert answer.err.startswith(code)
    assert line.kept() == before


# ------------------------------------------------------------------ sites, files to write, checks


def test_a_missing_or_damaged_site(line: Line, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for place in (tmp_path, tmp_path / "none", tmp_path / "file"):
        answer = line("verify", "--all", "--site", str(place))
        assert answer.code == 3
        assert one_line(answer.err)
    settings = line.site / "benchseal.toml"
    text = settings.read_text(encoding="utf-8")
    for damaged in ("", "[site", "[site]\nledger = 5\n", text.replace("store.sqlite", "../store.sqlite"), "\x00"):
        settings.write_text(damaged, encoding="utf-8")
        answer = line("verify", "--all")
        assert answer.code == 3
        assert one_line(answer.err)
    settings.write_bytes(b"\xff\xfe")
    assert line("verify", "--all").code == 3
    settings.write_text(text, encoding="utf-8")
    assert line("verify", "--all").code == 0


def test_a_store_that_is_no_store_or_of_a_later_version(line: Line) -> None:
    store = line.site / "store.sqlite"
    with closing(sqlite3.connect(store)) as connection:
        connection.execute("PRAGMA user_version = 99")
    answer = line("verify", "--all")
    assert answer.code == 9
    assert one_line(answer.err)
    store.write_bytes(b"this is no database, but some text that is long enough to be looked at" * 99)
    answer = line("verify", "--all")
    assert answer.code == 6
    assert one_line(answer.err)


@pytest.mark.refuses("A11 5")
@pytest.mark.parametrize(
    "words",
    [("certificate", "show", "{first}", "--pdf"), ("ledger", "checkpoint", "--out")],
    ids=" ".join,
)
def test_a_file_that_cannot_be_written(reader: Line, tmp_path: Path, words: tuple[str, ...]) -> None:
    first = str(reader.rows("SELECT min(number) FROM certificate")[0][0])
    for place in (tmp_path / "none" / "file", tmp_path):
        answer = reader(*(word.format(first=first) for word in words), str(place))
        assert answer.code == 4
        assert one_line(answer.err)


def test_a_folder_that_is_away_holds_up_no_other_delivery(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = line("document", "show", "comma-utf8", by=(ANALYST,)).out
    for name in ("first", "second"):
        (tmp_path / f"{name}.yaml").write_text(text.replace("id: comma-utf8", f"id: {name}"), encoding="utf-8")
        assert line("document", "add", str(tmp_path / f"{name}.yaml"), by=(ANALYST,)).code == 0
        assert line("document", "approve", name, by=(APPROVER,)).code == 0
    (tmp_path / "there").mkdir()
    with monkeypatch.context() as gone:  # the share goes away just after it was looked at
        gone.setattr("benchseal.cli.exports.require_folder", lambda _: None)
        away = line("export", "run", "first", "--to", str(tmp_path / "away"), by=(APPROVER,))
    assert away.code == 7
    assert one_line(away.err)
    other = line("export", "run", "second", "--to", str(tmp_path / "there"), by=(APPROVER,))
    assert other.code == 0
    assert len(list((tmp_path / "there").iterdir())) >= 1
    (tmp_path / "away").mkdir()
    assert line("export", "run", "first", by=(APPROVER,)).code == 0
    assert list((tmp_path / "away").iterdir())
    assert line.rows("SELECT DISTINCT state FROM delivery") == [("done",)]


def test_outside_checks_say_what_they_were_given(line: Line, tmp_path: Path) -> None:
    (tmp_path / "text").write_text("{}", encoding="utf-8")
    first = next(iter(sorted((line.site / "certificates").iterdir())))
    assert line("verify", str(tmp_path / "text")).code == 3
    assert line("verify", str(first), "--trust", str(tmp_path / "text")).code == 3
    assert line("verify", str(first), "--site", str(tmp_path)).code == 3  # nobody said whom to trust
    altered = bytearray(first.read_bytes())
    altered[len(altered) // 3] ^= 1
    (tmp_path / "altered.pdf").write_bytes(altered)
    answer = line("verify", str(tmp_path / "altered.pdf"))
    assert answer.code == 6
    assert answer.out.splitlines()[0] == "ALTERED"
    none = line("verify")
    assert none.code == 2
    assert one_line(none.err)
    against = line("verify", "--all", "--against", str(tmp_path / "text"))
    assert against.code == 4
    assert all(one_line(part + "\n") for part in against.err.splitlines())


FOUNDING = '{"laboratory": {"name": "X", "address": "Y", "zone": "%s"}, "founders": [%s]}'
PERSON = '{"person": "%s", "printed_name": "%s", "roles": ["%s"], "identity_check": "seen"}'
TWO = f"{PERSON % ('a.keel', 'A Keel', 'analyst')}, {PERSON % ('b.marsh', 'B Marsh', 'approver')}"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        pytest.param("", "site.answers", id="empty"),
        pytest.param("[]", "site.answers", id="no object"),
        pytest.param(FOUNDING % ("UTC", PERSON % ("a.keel", "A Keel", "king")), "site.answers", id="no such role"),
        pytest.param(FOUNDING % ("UTC", PERSON % ("a.keel", "A Keel", "analyst")), "site.founders", id="one person"),
        pytest.param(FOUNDING % ("Nowhere/X", TWO), "site.zone", id="no such time zone"),
    ],
)
def test_a_founding_that_fails_leaves_nothing(line: Line, tmp_path: Path, text: str, code: str) -> None:
    (tmp_path / "answers.json").write_text(text, encoding="utf-8")
    words = ("seven herons over slate", "copper kettle in october")[: max(1, text.count("identity_check"))]
    answer = line("init", str(tmp_path / "new"), "--answers", str(tmp_path / "answers.json"), more=words)
    assert answer.code == 4
    assert one_line(answer.err)
    assert answer.err.startswith(code)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nan",
        "[" * 100_000,
        '{"kind": "nope"}',
        '{"kind": "statistics", "values": ["1e999999999"]}',
        "1e999",
        '{"kind": "rpd", "a": 1e-400, "b": 2}',
    ],
    ids=["empty", "nan", "deep", "no such kind", "huge", "infinite", "too small for a float, not zero"],
)
def test_calc_refuses_in_one_line(line: Line, tmp_path: Path, text: str) -> None:
    (tmp_path / "q.json").write_text(text, encoding="utf-8")
    answer = line("calc", str(tmp_path / "q.json"))
    assert (answer.code, answer.out) == (4, "")
    assert one_line(answer.err)


def test_what_is_counted_is_counted(line: Line) -> None:
    """The helper of this file sees an entry and its objects."""
    before = line.kept()
    assert isinstance(before, Kept)
    assert before.entries > 100
    assert line("ingest", str(line.inbox("flame-ware.txt")), by=(TRACE_ANALYST,)).code == 0
    after = line.kept()
    assert after.entries == before.entries + 2
    assert after.objects > before.objects
