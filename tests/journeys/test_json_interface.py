"""A system is let in by two people, pulls what was released, meets a correction and a withdrawal, and is shut out."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import urllib.error
import urllib.request
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER
from tests.journeys.test_after_release import WHY, corrected, issued, number_of
from tests.journeys.test_corrections import good, refused, whole

from benchseal.records.released import ROW_FIELDS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.journeys.commands import Line

HEAD = """kind: profile
id: every-field
title: Every field as it is
file: {encoding: utf-8, separator: ',', quote: needed, line_end: lf, decimal_mark: '.', header_line: true}
risky_text: keep
columns:
"""
UNTIL = f"{datetime.now(UTC) + timedelta(days=30):%Y-%m-%d}"


def make(line: Line, *more: str) -> tuple[str, str]:
    words = ("token", "make", "their system", "--scope", "results", "certificates", "--until", UNTIL, *more)
    made = good(line(*words, "--reason", "their order", "--json", by=(ADMINISTRATOR, APPROVER)))
    return str(made["token"]), str(made["secret"])


@contextmanager
def served(line: Line) -> Iterator[str]:
    """The address of ``serve --interface``, a process of its own."""
    with line.start("serve", "--interface", "--port", "0") as program:
        try:
            assert program.stdout is not None
            said = program.stdout.readline().decode() + program.stdout.readline().decode()
            (address,) = re.findall(r"read under (http://127\.0\.0\.1:\d+)/v1/\.", said)
            yield address
        finally:
            program.send_signal(2)
            out, err = program.communicate(timeout=60)
    assert (program.returncode, out, err) == (0, b"", b"")


def ask(address: str, secret: str) -> tuple[int, bytes]:
    request = urllib.request.Request(address, headers={"Authorization": f"Bearer {secret}"})  # noqa: S310  the loopback
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:  # noqa: S310
            return answer.status, answer.read()
    except urllib.error.HTTPError as fault:
        with fault:
            return fault.code, fault.read()


def pull(address: str, secret: str, since: int = 0) -> tuple[list[dict[str, Any]], int]:
    rows: list[dict[str, Any]] = []
    while True:
        status, body = ask(f"{address}/v1/results?since={since}&most=3", secret)
        assert status == 200
        page = json.loads(body)
        rows += [{name: text for name, text in row.items() if name != "entry"} for row in page["results"]]
        since = page["next"]
        if not page["more"]:
            return rows, since


def delivered(line: Line) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []
    for file in (
        one["file"] for one in good(line("export", "run", "every-field", "--json", by=(APPROVER,)))["deliveries"]
    ):
        with Path(file).open(encoding="utf-8", newline="") as lines:
            rows += csv.DictReader(lines)
    return rows


@pytest.fixture
def profiled(line: Line, tmp_path: Path) -> Line:
    """A profile that takes every canonical field as it is."""
    columns = "".join(f"  - {{title: {name}, field: {name}, form: text}}\n" for name in ROW_FIELDS)
    (tmp_path / "every.yaml").write_text(HEAD + columns, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "every.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/every-field", "--json", by=(APPROVER,)))
    return line


@pytest.mark.clause("17025 7.8.1.1")
def test_what_is_pulled_equals_what_is_exported_through_every_change(profiled: Line) -> None:
    line = profiled
    token, secret = make(line)
    first = number_of(line, "A-1")
    with served(line) as address:
        rows, seen = pull(address, secret)
        sent = delivered(line)
        assert rows == sent
        assert rows
        assert {row["change_kind"] for row in rows} == {"new"}
        status, pdf = ask(f"{address}/v1/certificates/{first}.pdf", secret)
        assert (status, hashlib.sha256(pdf).hexdigest()) == (200, rows[0]["certificate_sha256"])

        number = str(
            good(line("certificate", "amend", corrected(line), "--reason", WHY, "--json", by=(ANALYST,)))["number"]
        )
        issued(line, number)
        changed, seen = pull(address, secret, seen)
        assert changed == delivered(line)
        assert {row["change_kind"] for row in changed} == {"corrected"}
        status, body = ask(f"{address}/v1/certificates/{first}.pdf", secret)
        assert (status, json.loads(body)["code"]) == (410, "interface.certificate-gone")
        assert number in json.loads(body)["detail"]
        assert ask(f"{address}/v1/certificates/{number}.pdf", secret)[0] == 200

        good(line("certificate", "withdraw", number, "--reason", "another lot", "--json", by=(APPROVER,)))
        gone, seen = pull(address, secret, seen)
        assert gone == delivered(line)
        assert {(row["change_kind"], row["value_number"]) for row in gone} == {("withdrawn", "")}
        status, body = ask(f"{address}/v1/certificates/{number}.pdf", secret)
        assert (status, json.loads(body)["code"]) == (410, "interface.certificate-gone")
        assert "nothing stands in its place" in json.loads(body)["detail"]
        status, notice = ask(f"{address}/v1/certificates/{number}-W.pdf", secret)
        assert (status, notice[:5]) == (200, b"%PDF-")
        assert hashlib.sha256(notice).hexdigest() == line.rows("SELECT sealed FROM certificate_notice")[0][0]
        assert ask(f"{address}/v1/certificates/{first}-W.pdf", secret)[0] == 404  # superseded: there is none
        assert pull(address, secret)[0] == [*rows, *changed, *gone]

        good(line("token", "revoke", token, "--reason", "replaced", "--json", by=(ADMINISTRATOR,)))
        assert ask(f"{address}/v1/results", secret)[0] == 401
    assert whole(line)


def test_a_certificate_no_longer_in_force_names_what_stands_in_its_place(line: Line) -> None:
    _, secret = make(line)
    first = number_of(line, "A-1")
    slip = ("--reason", "it was withdrawn by mistake", "--comment", "The certificate was withdrawn by mistake.")
    with served(line) as address:

        def gone(number: str) -> str:
            status, body = ask(f"{address}/v1/certificates/{number}.pdf", secret)
            assert (status, json.loads(body)["code"]) == (410, "interface.certificate-gone")
            return str(json.loads(body)["detail"])

        good(line("certificate", "withdraw", first, "--reason", "a slip", "--json", by=(APPROVER,)))
        assert gone(first) == "it is withdrawn, and nothing stands in its place."
        second = str(good(line("certificate", "amend", first, *slip, "--json", by=(ANALYST,)))["number"])
        assert gone(first) == "it is withdrawn, and nothing stands in its place."  # a draft stands for nothing
        issued(line, second)
        assert gone(first) == f"it is withdrawn, and {second} stands in its place."
        corrected(line)
        third = str(good(line("certificate", "amend", second, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
        issued(line, third)
        assert gone(first) == f"it is withdrawn, and {third} stands in its place."
        assert gone(second) == f"it is superseded, and {third} stands in its place."
        assert ask(f"{address}/v1/certificates/{third}.pdf", secret)[0] == 200
        good(line("certificate", "withdraw", third, "--reason", "another lot", "--json", by=(APPROVER,)))
        for number, state in ((first, "withdrawn"), (second, "superseded"), (third, "withdrawn")):
            assert gone(number) == f"it is {state}, and nothing stands in its place."


def test_the_list_tells_what_each_may_and_the_log_what_each_did(line: Line) -> None:
    token, secret = make(line, "--customer", "ardlea")
    other, _ = make(line)
    good(line("token", "revoke", other, "--reason", "made by mistake", "--json", by=(APPROVER,)))
    with served(line) as address:
        assert ask(f"{address}/v1/results?most=2", secret)[0] == 200
    listed = good(line("token", "list", "--json", by=(APPROVER,)))["tokens"]
    assert [(one["token"], one["reads"], one["customers"], one["state"]) for one in listed] == [
        (token, "results certificates", "ardlea", "good"),
        (other, "results certificates", "every one", "revoked"),
    ]
    assert secret not in json.dumps(listed)
    logged = good(line("access", "log", "--who", token, "--json", by=(APPROVER,)))["reads"]
    assert [(one["command"], one["asked"], one["by"]) for one in logged] == [
        ("GET /v1/results", "most=2; given=yes", "token")
    ]


def test_only_this_machine_is_answered_with_the_interface(line: Line) -> None:
    answer = line("serve", "--interface", "--host", "0.0.0.0", "--port", "0")  # noqa: S104  it is refused
    assert (answer.code, "unencrypted" in answer.err) == (4, True)


def test_one_person_makes_no_token(line: Line) -> None:
    words = ("token", "make", "their system", "--scope", "results", "--until", UNTIL, "--reason", "x")
    refused(line(*words, by=(ADMINISTRATOR, ANALYST)), "act.role")
