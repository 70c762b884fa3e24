"""Every command once, as people use it: exit code, data on standard output, talk on standard error, one JSON object."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import (
    ADMINISTRATOR,
    ANALYST,
    APPROVER,
    REVIEWER,
    SECOND_APPROVER,
    TRACE_ANALYST,
    finished,
    one_line,
)

from benchseal.cli.show import SCHEMA_VERSION
from benchseal.cli.table import COMMANDS

if TYPE_CHECKING:
    from tests.journeys.commands import Answer, Line

READS = [
    ("run list", (), "runs"),
    ("run show", ("R-00001",), "work"),
    ("run explain", ("R-00001", "A-1"), "lines"),
    ("document list", (), "documents"),
    ("document show", ("zinc-flame@1",), "source"),
    ("recipient list", (), "customers"),
    ("instrument list", (), "instruments"),
    ("standard list", (), "standard_lots"),
    ("sample list", (), "samples"),
    ("sample show", ("ardlea/A-1",), "results"),
    ("history check", ("--method", "lead-furnace"), "charts"),
    ("history sensitivity", ("--method", "lead-furnace"), "charts"),
    ("history instrument", ("furnace-1",), "runs"),
    ("history method", ("lead-furnace",), "runs"),
    ("history person", ("p-edda.farrow",), "acts"),
    ("certificate list", (), "certificates"),
    ("certificate show", ("{first}",), "certificate"),
    ("ledger show", ("run/R-00001",), "entries"),
    ("ledger find", ("--act", "run", "--who", "p-edda.farrow"), "entries"),
    ("report lot", ("ardlea/A-1",), "entries"),
    ("person list", (), "people"),
    ("person list", ("--as-of", "2000-01-01"), "people"),
    ("event list", (), "events"),
    ("access list", (), "people"),
    ("export preview", ("comma-utf8",), "cells"),
    ("export check", ("comma-utf8",), "cases"),
    ("export list", (), "deliveries"),
    ("rebuild", (), "changed"),
    ("verify", ("--all",), "root"),
]


def good(answer: Answer) -> dict[str, object]:
    """What a command that went well said with ``--json``."""
    assert answer.code == 0, answer.err
    assert answer.err == ""
    said: dict[str, object] = answer.json
    assert (said["schema_version"], said["exit"], said["problems"]) == (SCHEMA_VERSION, 0, [])
    return said


@pytest.mark.clause("PI041 available", "P11 11.10(d)")
@pytest.mark.refuses("PI041 available")
def test_reading_commands_answer_in_words_and_as_one_object(reader: Line) -> None:
    before = reader.kept()
    first = str(reader.rows("SELECT min(number) FROM certificate")[0][0])
    for command, named, member in READS:
        words = (*command.split(), *(word.format(first=first) for word in named))
        plain = reader(*words)
        assert plain.code == 0, plain.err
        assert plain.out.strip()
        said = good(reader(*words, "--json"))
        assert said["command"] == command
        assert member in said
    assert reader.kept() == before


@pytest.mark.clause("P11 11.10(f)", "DI Q3", "A11 4", "17025 7.8.1.1", "17025 7.8.1.2", "17025 7.11.2")
def test_a_lot_from_its_instrument_file_to_the_certificate_and_the_delivery(line: Line, tmp_path: Path) -> None:
    good(line("sign-in", "--json", by=(ANALYST,)))
    came = good(line("ingest", str(line.inbox("flame-ware.txt")), "--json"))
    runs = [str(run) for file in came["files"] for run in file["runs"]]  # type: ignore[attr-defined]  # a list
    assert len(runs) == 2
    good(line("run", "recalculate", runs[0], "--reason", "looked at twice", "--json"))
    why = line("certificate", "why-not", "C-1", "--json")
    assert (why.code, len(why.json["blockers"])) == (10, 2)
    good(line("run", "submit", *runs, "--json", by=(ANALYST,)))
    good(line("run", "return", runs[0], "--reason", "explain the blank", "--json", by=(REVIEWER,)))
    good(line("run", "submit", runs[0], "--json", by=(ANALYST,)))
    good(line("run", "accept", *runs, "--json", by=(REVIEWER,)))
    good(line("run", "reopen", runs[1], "--reason", "the blank again", "--json", by=(ANALYST, REVIEWER)))
    good(line("run", "submit", runs[1], "--json", by=(ANALYST,)))
    good(line("run", "accept", runs[1], "--json", by=(REVIEWER,)))
    assert good(line("certificate", "why-not", "C-1", "--json"))["blockers"] == []
    lost = str(good(line("certificate", "draft", "C-1", "--json"))["number"])
    good(line("certificate", "discard", lost, "--reason", "drafted too early", "--json"))
    number = str(good(line("certificate", "draft", "C-1", "--json"))["number"])
    assert number != lost
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    good(line("certificate", "return", number, "--reason", "address to be asked", "--json", by=(APPROVER,)))
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    released = good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))
    file = Path(str(released["file"]))
    checked = line("verify", str(file), "--json")
    assert (checked.code, checked.json["certificates"][0]["word"]) == (0, "GENUINE")
    assert line("verify", str(file)).out.splitlines()[0] == "GENUINE"
    good(line("certificate", "show", number, "--pdf", str(tmp_path / "copy.pdf"), "--json"))
    assert (tmp_path / "copy.pdf").read_bytes() == file.read_bytes()
    cells = good(line("export", "preview", "comma-utf8", "--json"))["cells"]
    assert cells
    sent = good(line("export", "run", "comma-utf8", "--json", by=(APPROVER,)))
    assert sent["new_rows"] == 2
    assert good(line("export", "run", "comma-utf8", "--json", by=(APPROVER,)))["new_rows"] == 0
    delivery = sent["deliveries"][0]  # type: ignore[index]  # a list
    (tmp_path / "elsewhere").mkdir()
    again = good(line("export", "again", str(delivery["delivery"]), "--to", str(tmp_path / "elsewhere"), "--json"))
    assert Path(str(again["file"])).read_bytes() == Path(delivery["file"]).read_bytes()
    good(line("ledger", "checkpoint", "--out", str(tmp_path / "head.json"), "--json"))
    good(line("verify", "--all", "--against", str(tmp_path / "head.json"), str(file), "--json"))
    assert good(line("sign-out", "--json"))["was_signed_in"]
    assert not good(line("sign-out", "--json"))["was_signed_in"]
    assert line("run", "list").code == 5


def test_a_tail_cut_off_shows_against_a_certificate(line: Line, tmp_path: Path) -> None:
    number = line.rows("SELECT max(number) FROM certificate")[0][0]
    pdf = line.site / "certificates" / f"{number}.pdf"
    assert line("verify", "--all", "--against", str(pdf)).code == 0
    damaged = bytearray(pdf.read_bytes())
    damaged[len(damaged) // 2] ^= 1
    (tmp_path / "damaged.pdf").write_bytes(damaged)
    refused = line("verify", "--all", "--against", str(tmp_path / "damaged.pdf"))
    assert refused.code != 0
    assert one_line(refused.err)
    other = json.loads((line.site / "trust.json").read_text(encoding="utf-8"))["ledger"]
    assert other in (line.site / "benchseal.toml").read_text(encoding="utf-8")


def test_registers_and_documents_grow(line: Line, tmp_path: Path) -> None:
    def sheet(name: str, text: str) -> str:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return str(tmp_path / name)

    def grown(name: str, **changes: str) -> str:
        """The header of a sheet in the inbox and its first row with other values."""
        row = next(csv.DictReader(line.inbox(name).read_text(encoding="utf-8").splitlines())) | changes
        text = io.StringIO()
        csv.writer(text).writerows([row.keys(), row.values()])
        return sheet(name, text.getvalue())

    good(line("sign-in", "--json", by=(ANALYST,)))
    customers = sheet(
        "customers.csv", "customer,name,address,contact\nholm,Holm Mill,1 Lane (invented),q@holm.example\n"
    )
    good(line("recipient", "add", customers, "--json"))
    good(line("instrument", "add", grown("instruments.csv", instrument="flame-9", serial="TQ-F-9999"), "--json"))
    good(line("standard", "add", grown("standards.csv", lot="DW-Zn-99"), "--json"))
    good(line("sample", "add", grown("samples.csv", lot="H-1"), "--json"))
    good(line("preparation", "add", grown("preparation-ware.csv", batch="WR-09"), "--json"))
    text = line("document", "show", "comma-utf8").out.replace("id: comma-utf8", "id: comma-second")
    good(line("document", "add", sheet("profile.yaml", text), "--json"))
    good(line("document", "approve", "profile/comma-second", "--json", by=(APPROVER,)))
    new = ("person", "add", "wren.ode", "--name", "Wren Ode", "--role", "analyst", "--role", "reviewer")
    enrolled = line(*new, "--identity-check", "seen", "--json", by=(ADMINISTRATOR,), more=("four grey herons walk",))
    assert good(enrolled)["person"] == "p-wren.ode"
    assert line("verify", "--all").code == 0


def test_two_people_cancel_a_run(line: Line) -> None:
    good(line("sign-in", "--json", by=(ANALYST,)))
    run = good(line("ingest", str(line.inbox("flame-ware.txt")), "--json"))["files"][0]["runs"][0]  # type: ignore[index]
    good(line("run", "cancel", run, "--reason", "wrong lamp", "--json", by=(ANALYST, REVIEWER)))
    assert line.rows(f"SELECT state FROM run WHERE run = '{run}'") == [("cancelled",)]  # noqa: S608


def test_calc_answers_from_a_file_and_from_standard_input(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "q.json").write_text('{"kind": "statistics", "values": ["1", "2", "3"]}', encoding="utf-8")
    from_file = line("calc", str(tmp_path / "q.json"))
    assert (from_file.code, from_file.json["mean"]) == (0, 2.0)
    with (tmp_path / "q.json").open(encoding="utf-8") as given:
        monkeypatch.setattr(sys, "stdin", given)
        assert line("calc", "-").out == from_file.out


@pytest.mark.parametrize(
    ("question", "key", "due"),
    [
        pytest.param('"kind": "conformity", "rule": "pharma", "value": 0.305, "upper": 0.30', "verdict", "fail",
                     id="a limit of two places, typed as a number"),
        pytest.param('"kind": "conformity", "rule": "pharma", "value": 0.305, "upper": 0.3', "verdict", "pass",
                     id="a limit of one place"),
        pytest.param('"kind": "conformity", "rule": "simple", "value": 0.30000000000000001, "upper": 0.3', "verdict",
                     "fail", id="more digits than a float holds"),
    ],
)  # fmt: skip
def test_a_number_keeps_the_digits_it_was_typed_with(
    line: Line, tmp_path: Path, question: str, key: str, due: str
) -> None:
    """Found by an outside test: the zero of 0.30 was lost, and 0.305 passed."""
    (tmp_path / "q.json").write_text(f"{{{question}}}", encoding="utf-8")
    assert line("calc", str(tmp_path / "q.json")).json[key] == due


def test_a_site_is_founded_from_answers_and_a_pipe(line: Line, tmp_path: Path) -> None:
    def person(handle: str, name: str, role: str) -> dict[str, object]:
        return {"person": handle, "printed_name": name, "roles": [role], "identity_check": "seen"}

    answers = {
        "laboratory": {"name": "Heron Ford Laboratory", "address": "1 Weir Lane", "zone": "Europe/Berlin"},
        "founders": [person("ana.keel", "Ana Keel", "administrator"), person("ben.marsh", "Ben Marsh", "approver")],
    }
    (tmp_path / "answers.json").write_text(json.dumps(answers), encoding="utf-8")
    secrets = ("seven herons over slate", "copper kettle in october")
    made = line("init", str(tmp_path / "new"), "--answers", str(tmp_path / "answers.json"), "--json", more=secrets)
    good(made)
    assert line("verify", "--all", "--site", str(tmp_path / "new")).code == 0


@pytest.mark.refuses("17025 7.8.1.2")
@pytest.mark.parametrize("done", ["altered", "lost", "another"])
def test_an_issued_file_comes_back_from_the_record_as_it_was(line: Line, tmp_path: Path, done: str) -> None:
    """NEG: the copy on disk is altered, lost, or that of another certificate."""
    number, other = "C-2026-00001", "C-2026-00002"
    file = line.site / "certificates" / f"{number}.pdf"
    issued = file.read_bytes()
    if done == "altered":
        file.write_bytes(issued.replace(b"%%EOF", b"%%EOG", 1))
        assert line("verify", str(file)).out.splitlines()[0] == "ALTERED"
    elif done == "lost":
        file.unlink()
    else:
        file.write_bytes((line.site / "certificates" / f"{other}.pdf").read_bytes())
    good(line("certificate", "show", number, "--pdf", str(tmp_path / "again.pdf"), "--json", by=(ANALYST,)))
    assert (tmp_path / "again.pdf").read_bytes() == issued
    assert line("verify", str(tmp_path / "again.pdf")).out.splitlines()[0] == "GENUINE"


@pytest.mark.refuses("DI Q3")
def test_every_command_stands_in_a_test_of_this_folder() -> None:
    """A new command without a journey is seen here; demo has its own."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(Path(__file__).parent.glob("test_*.py")))
    spoken = (" ".join(command.words) for command in COMMANDS if command.words != ("demo",))
    missing = [words for words in spoken if f'"{words}"' not in text and _listed(words) not in text]
    assert missing == []


def _listed(words: str) -> str:
    return '"' + '", "'.join(words.split()) + '"'


def test_quiet_says_nothing_and_verbose_shows_the_inside(reader: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    quiet = reader("run", "recalculate", "R-00001", "--reason", "x", "--quiet")
    assert (quiet.code, quiet.out) == (5, "")

    def broken(*_: object) -> int:
        raise RuntimeError("a fault of the program")

    monkeypatch.setattr("benchseal.cli.runs.list_all", broken)
    plain = reader("run", "list")
    assert plain.code == 1
    assert plain.err.count("\n") == 1
    assert "Traceback" not in plain.err
    with pytest.raises(RuntimeError, match="a fault of the program"):
        reader("run", "list", "-v")


@pytest.mark.refuses("A11 4")
@pytest.mark.parametrize(
    "words",
    [
        pytest.param((), id="no command"),
        pytest.param(("runs", "list"), id="no such command"),
        pytest.param(("run", "lst"), id="no such verb"),
        pytest.param(("run", "submit"), id="nothing named"),
        pytest.param(("run", "return", "R-00001"), id="no reason"),
        pytest.param(("run", "list", "--secret-fd", "three"), id="a descriptor that is no number"),
        pytest.param(("run", "show", os.fsdecode(b"R-\xff")), id="bytes that are no text"),
    ],
)
def test_wrong_usage_is_one_line_and_exit_2(line: Line, words: tuple[str, ...]) -> None:
    answer = line(*words, "--site", "x") if words and words[-1] != "x" else line(*words)
    assert (answer.code, answer.out) == (2, "")
    assert one_line(answer.err)
    assert "--help" in answer.err


# ------------------------------------------------------------------ as processes of their own


@pytest.mark.refuses("P11 11.10(d)")
def test_nothing_prompts_without_a_terminal(line: Line) -> None:
    started = [line.start("run", "list"), line.start("run", "submit", "R-00001"), line.start("sign-in")]
    for process in started:
        answer = finished(process)
        assert (answer.code, answer.out) == (5, "")
        assert one_line(answer.err)
        assert "--secret-fd" in answer.err


@pytest.mark.clause("P11 11.200(a)(1)")
@pytest.mark.refuses("P11 11.200(a)(1)", "P11 11.200(a)(1)(i)", "P11 11.200(a)(1)(ii)", "A11d 13")
def test_a_session_serves_reading_and_never_a_signature(line: Line) -> None:
    before = line.kept()
    assert finished(line.start("sign-in", by=(TRACE_ANALYST,))).code == 0
    kept = list((line.site.parent / "state" / "benchseal").iterdir())
    assert len(kept) == 1
    if os.name != "nt":
        assert kept[0].stat().st_mode & 0o077 == 0
    listed = finished(line.start("run", "list", "--json"))
    assert len(listed.json["runs"]) == len(line.rows("SELECT run FROM run"))
    signing = finished(line.start("run", "submit", "R-00001"))
    assert signing.code == 5
    assert one_line(signing.err)
    assert finished(line.start("sign-out")).code == 0
    assert finished(line.start("run", "list")).code == 5
    assert line.kept() == before


@pytest.mark.clause("P11 11.200(a)(2)")
@pytest.mark.refuses("P11 11.200(a)(2)")
def test_a_password_in_a_file_is_refused(line: Line, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("\n".join(line.secrets(ANALYST)) + "\n", encoding="utf-8")
    command = [sys.executable, "-m", "benchseal", "run", "list", "--secret-fd", "0", "--site", str(line.site)]
    with secret.open("rb") as file:
        ran = subprocess.run(command, stdin=file, capture_output=True, check=False)  # noqa: S603
    assert ran.returncode == 5
    assert one_line(ran.stderr.decode())
    assert b"a password must not lie in one" in ran.stderr


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")  # noqa: PTH110
def test_output_nobody_can_take_is_said(line: Line) -> None:
    command = [sys.executable, "-m", "benchseal", "run", "list", "--secret-fd", "0", "--site", str(line.site)]
    text = "\n".join(line.secrets(ANALYST)) + "\n"
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        ran = subprocess.run(command, input=text.encode(), stdout=full, stderr=-1, check=False)  # noqa: S603
    assert ran.returncode == 75
    assert one_line(ran.stderr.decode())


def test_a_reader_that_goes_away_leaves_no_complaint(line: Line) -> None:
    with line.start("ledger", "show", "all", by=(ANALYST,)) as started:
        assert started.stdout is not None
        assert started.stderr is not None
        started.stdout.close()
        said = started.stderr.read()
    assert started.returncode == 141
    assert said == b""
